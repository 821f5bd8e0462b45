"""What the figures mean, in sentences with a number and a remedy."""

from __future__ import annotations

from collections.abc import Iterator

from api.domain.analyses.result import Check, ClampResult, PointResult, StationResult
from api.domain.designs.document import Point, Station
from api.mechanics.whole.holding import Held
from api.use_cases.analysis.computing import Computed
from api.use_cases.analysis.remedies import Remedies
from api.use_cases.analysis.sentences import kn, listed, mm, passes, percent, span, times

KEPT, GAINED, LOOSE = 0.9, 1.15, 0.02
WANTED_HOLD = 2.0
COARSE_CHANGE, ILL_CONDITION = 0.02, 1e6


def findings(
    done: Computed,
    clamps: dict[str, ClampResult],
    points: dict[str, PointResult],
    stations: dict[str, StationResult],
) -> list[Check]:
    """Stops first, then advice, then notes."""
    remedies = Remedies(done)
    found = [
        *_ratings(done, clamps),
        *_losses(done, remedies),
        *_gains(done, clamps),
        *_receivers(done),
        *_points(done, points, remedies),
        *_seats(done, stations, remedies),
        *_grips(done, remedies),
        *_cuts(done),
        *_accuracy(done),
    ]
    return sorted(found, key=lambda check: ("stop", "advice", "note").index(check.level))


def _ratings(done: Computed, clamps: dict[str, ClampResult]) -> Iterator[Check]:
    """One sentence per spec and torque; those alike are named together."""
    groups: dict[tuple[str, float], list[str]] = {}
    for clamp in done.ground.design.clamps:
        groups.setdefault((clamp.spec, clamp.torque_nm), []).append(clamp.id)
    for (name, torque), ids in groups.items():
        rated, result = done.ground.specs[name].rated, clamps[ids[0]]
        if rated is None or rated.force is None or result.side_n.high <= rated.force.value:
            continue
        jack = done.found.assembly.jacks[list(done.ground.clamps).index(ids[0])]
        most = torque * rated.force.value / result.side_n.high
        beyond = result.side_n.usual > rated.force.value
        yield Check(
            code="force-above-rating",
            level="stop" if beyond else "advice",
            subject=f"clamp {listed(ids)}",
            message=f"{listed(ids)} {'presses' if len(ids) == 1 else 'press'} with an estimated "
            f"{kn(result.side_n.usual)} ({kn(result.side_n.low)} to {kn(result.side_n.high)}) at "
            f"{torque:.3g} N·m; the clamp is rated for {kn(rated.force.value)}",
            fix=f"at {most:.2g} N·m the high end stays within the rating, if the grip allows it"
            if jack.scatter is None
            else f"give at most about {most:.2g} N·m",
        )


def _losses(done: Computed, remedies: Remedies) -> Iterator[Check]:
    run, names = done.found.tightened.run, [clamp.id for clamp in done.ground.design.clamps]
    wanted = done.found.plan.shares[-1]
    kept = remedies.kept(done.found)
    low = [k for k, share in enumerate(kept) if share < KEPT * wanted]
    if not low:
        return
    worst = min(low, key=lambda k: kept[k])
    order = list(done.found.plan.order)
    later = [names[k] for k in order[order.index(worst) + 1 :]] or [names[k] for k in order[:-1]]
    where = "locked" if done.found.assembly.tightened_locked else "free"
    others = f"; {listed([names[k] for k in low])} lose more than a tenth" if len(low) > 1 else ""
    yield Check(
        code="clamp-loses-force",
        level="stop" if kept[worst] < LOOSE else "advice",
        subject=f"clamp {names[worst]}",
        message=f"{names[worst]} ends at {percent(kept[worst])} of its torque's force after "
        f"{passes(len(run.shares))} on a {where} plate, because tightening {listed(later)} bows the "
        f"plate and takes force from it{others}",
        fix=remedies.for_losses(),
    )


def _gains(done: Computed, clamps: dict[str, ClampResult]) -> Iterator[Check]:
    """Parts squeezed well above what their clamps' torques give: shared parts and rows."""
    design = done.ground.design
    for state, words in (
        (done.found.tightened.free, "free"),
        (done.found.tightened.locked, "locked"),
    ):
        high = []
        for station, force in zip(design.stations, state.link_n, strict=True):
            targets = [clamps[name].side_n.usual for name in station.between if name in clamps]
            if float(force) > GAINED * max(targets):
                high.append((float(force) / max(targets), station.id))
        if high:
            share, name = max(high)
            yield Check(
                code="part-squeezed",
                level="advice",
                subject=f"station {name}",
                message=f"the part at {name} is pressed with {percent(share)} of its clamp's force once "
                f"the plate is {words}"
                + (f"; {len(high) - 1} more above 115 %" if len(high) > 1 else ""),
                fix="expect its squeeze and marks to be that much larger; tighten with the plate locked, or "
                "give this clamp less torque",
            )
            return


def _receivers(done: Computed) -> Iterator[Check]:
    """Receivers that the torqued, locked plate has left."""
    rests, state = done.found.response.rests, done.found.tightened.locked
    pull_n = done.found.assembly.receivers.pull_n
    for number in range(len(done.found.assembly.receivers.x_m)):
        carried = float(state.contact_n[rests.pad == number].sum())
        if carried > 0.01 * pull_n:
            continue
        yield Check(
            code="leaves-receiver",
            level="stop",
            subject=f"receiver {number + 1}",
            message=f"the torqued plate leaves receiver {number + 1}: it pulls with {kn(pull_n)}, and only "
            f"{kn(carried)} still press on its pad",
            fix="use receivers that pull harder, lower the torque, or set the receivers closer to where "
            "the plate bows",
        )


def _points(done: Computed, points: dict[str, PointResult], remedies: Remedies) -> Iterator[Check]:
    for k, point in enumerate(done.ground.design.points):
        result = points[point.id]
        if result.verdict == "within":
            continue
        reading, (low, high) = result.reading_um, result.limit_um
        beyond = not low <= reading.usual <= high
        yield Check(
            code="reading-beyond-limit" if beyond else "reading-undecided",
            level="stop" if result.verdict == "beyond" else "advice",
            subject=f"point {point.id}",
            message=f"{point.id} is expected to read {mm(reading.usual)} "
            f"({span(reading.low, reading.high)}), {point.read} from {point.zero}; its limit is "
            f"{_limit(point)}" + ("" if beyond else ", inside that band"),
            fix=remedies.for_point(k),
        )


def _limit(point: Point) -> str:
    if point.low_mm == -point.high_mm:
        return mm(point.high_mm * 1e3)
    return span(point.low_mm * 1e3, point.high_mm * 1e3)


def _seats(
    done: Computed, stations: dict[str, StationResult], remedies: Remedies
) -> Iterator[Check]:
    """The worst station of each kind of error, against the part's tolerance."""
    part = done.ground.design.part
    later_um = part.later_stock.value * 1e6
    for kind, words, given in (
        ("thickness", "thickness", part.tolerance.thickness),
        ("parallelism", "parallelism", part.tolerance.parallelism),
        ("flatness", "flatness", part.tolerance.flatness),
    ):
        if given is None:
            continue
        errors = {name: abs(getattr(result, f"{kind}_um")) for name, result in stations.items()}
        name, allowed = max(errors, key=lambda key: errors[key]), given.value * 1e6
        if errors[name] <= allowed:
            continue
        saved = errors[name] <= later_um
        yield Check(
            code=f"part-{kind}",
            level="note" if saved else "advice",
            subject=f"station {name}",
            message=f"the bow of the locked plate leaves an estimated {mm(errors[name])} of {words} error at "
            f"{name}, above the part's {mm(allowed)}"
            + (f"; later operations still remove {mm(later_um)}" if saved else ""),
            fix="check that the later operation cuts this face everywhere"
            if saved
            else remedies.for_seat(kind, allowed),
        )


def _grips(done: Computed, remedies: Remedies) -> Iterator[Check]:
    """Stations alike in the same trouble share a sentence, told of the worst."""
    weak: dict[tuple[str, str | None], list[tuple[float, Station, Held]]] = {}
    for station, held in zip(done.ground.design.stations, done.holds, strict=True):
        if held is not None and held.margins.overall < WANTED_HOLD:
            key = (held.tool, held.margins.mode)
            weak.setdefault(key, []).append((held.margins.overall, station, held))
    for entries in weak.values():
        margin, station, held = min(entries, key=lambda entry: entry[0])
        more = f" (and {len(entries) - 1} more)" if len(entries) > 1 else ""
        yield Check(
            code="grip-fails" if margin < 1 else "grip-weak",
            level="stop" if margin < 1 else "advice",
            subject=f"station {station.id}",
            message=f"{station.id}{more} {_motion(held)}: "
            + (
                f"the cut {held.tool!r} asks {times(1 / margin)} what the grip holds at low friction and "
                "low force"
                if 0 < margin < 1
                else held.margins.reason
                or f"the grip holds only {times(margin)} the peak of the cut {held.tool!r}, {WANTED_HOLD:g} "
                "times is usual"
            ),
            fix=remedies.for_grip(held, margin),
        )


def _motion(held: Held) -> str:
    words = {"slip": "can slip", "lift": "can lift", "tip": "can tip", "turn": "can turn"}
    return words.get(held.margins.mode or "", "is not held")


def _cuts(done: Computed) -> Iterator[Check]:
    if done.ground.design.cuts and all(held is None for held in done.holds):
        material = done.ground.design.part.material
        yield Check(
            code="no-cutting-data",
            level="advice",
            subject="part",
            message=f"{material} has no cutting constants in the stores, so the grip is not computed",
            fix=f"add kc1.1 and mc of {material} under Stores, Materials",
        )
    told: set[str] = set()
    for held in done.holds:
        for note in held.load.notes if held is not None else ():
            if note not in told:
                told.add(note)
                yield Check(
                    code="cut-note",
                    level="note",
                    subject=f"cut {held.tool}" if held is not None else "cut",
                    message=note.rstrip("."),
                    fix="prove the cut out at reduced feed",
                )


def _accuracy(done: Computed) -> Iterator[Check]:
    checks = done.accuracy
    if checks.grid_change > COARSE_CHANGE:
        yield Check(
            code="grid-matters",
            level="advice",
            subject="computation",
            message=f"halving the grid still changes the heights by {percent(checks.grid_change)}",
            fix="take the heights as rough; narrow pockets or stops are the usual cause",
        )
    if checks.condition > ILL_CONDITION:
        yield Check(
            code="ill-conditioned",
            level="advice",
            subject="computation",
            message=f"the forces in the clamps hang together badly (condition number {checks.condition:.0e})",
            fix="look for two clamps on one part, or a clamp with an extreme stiffness",
        )
