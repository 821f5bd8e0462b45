"""Findings about what the plate and the clamps do to the part."""

from __future__ import annotations

from collections.abc import Iterator

from api.domain.analyses.result import Check, StationResult
from api.domain.designs.document import Station
from api.mechanics.grip.friction import HARD_PART_NOTE, HARD_PART_PA
from api.mechanics.grip.hertz import LineContact, contact_modulus_pa, line_contact
from api.mechanics.grip.squeeze import squeeze_m
from api.mechanics.grip.undercut import flat_down_force, round_down_force
from api.use_cases.analysis.anchors import half_part_m, lean_of
from api.use_cases.analysis.computing import Computed
from api.use_cases.analysis.pieces import piece_of
from api.use_cases.analysis.remedies import Remedies
from api.use_cases.analysis.sentences import kn, listed, mm

NOTABLE_SQUEEZE = 0.5  # of the smallest tolerance


def seats(
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


def leaning_faces(done: Computed) -> Iterator[Check]:
    """What an undercut face can be trusted with: less than it looks."""
    leaning = {stop.id for stop in done.ground.design.stops if stop.undercut.value > 0}
    for station in done.ground.design.stations:
        if not leaning & set(station.between):
            continue
        lean = lean_of(done.ground, station)
        force = float(done.found.tightened.locked.link_n[_index(done, station)])
        piece = piece_of(done.ground, station)
        stop = piece.first if not piece.first.pressed else piece.second
        if lean is None:
            flat = flat_down_force(force, stop.friction)
            yield Check(
                code="undercut-on-flat",
                level="note",
                subject=f"station {station.id}",
                message="an undercut face touches flat stock at an edge only; friction alone decides its "
                f"down-force, anything from {kn(flat.least_n)} to {kn(flat.most_n)}",
                fix="count on no down-force; check with a feeler that each part is down",
            )
            return
        down = round_down_force(force, lean[0].undercut.value, stop.friction)
        if down.least_n < 0:
            yield Check(
                code="undercut-may-lift",
                level="note",
                subject=f"station {station.id}",
                message=f"the lean of {lean[0].id} is below the angle of friction: its down-force may be "
                f"anything from {kn(down.least_n)} to {kn(down.most_n)}",
                fix="tap every part down before the last pass, and check with a feeler",
            )
            return


def hard_parts(done: Computed) -> Iterator[Check]:
    """Serrated stops against parts they cannot bite into."""
    design = done.ground.design
    strength_pa = done.ground.stores.materials[design.part.material].yield_mpa * 1e6
    serrated = [stop.id for stop in design.stops if stop.face != "smooth"]
    if serrated and strength_pa > HARD_PART_PA:
        yield Check(
            code="too-hard-to-bite",
            level="advice",
            subject=f"stop {listed(serrated)}",
            message=HARD_PART_NOTE.rstrip("."),
            fix="use smooth, well fitting faces and more force, or soften the part",
        )


def marks(done: Computed) -> Iterator[Check]:
    """Round parts that yield where a flat jaw presses them; the worst is told."""
    design, forces = done.ground.design, done.found.tightened.locked.link_n
    found = [
        (contact.pressure_pa, station.id, contact)
        for station, force in zip(design.stations, forces, strict=True)
        if station.shape == "round" and (contact := _line(done, station, float(force))) is not None
    ]
    yielding = [entry for entry in found if entry[2].yields]
    if not yielding:
        return
    pressure, name, contact = max(yielding, key=lambda entry: entry[0])
    yield Check(
        code="part-marked",
        level="note",
        subject=f"station {name}",
        message=f"round parts are pressed on a line with up to {pressure / 1e6:.0f} MPa and yield there "
        f"above {contact.yields_at_pa / 1e6:.0f} MPa: expect marks (worst at {name})",
        fix="lower the torque, use jaws shaped to the bar, or leave the marks on stock that is cut away",
    )


def _line(done: Computed, station: Station, force_n: float) -> LineContact | None:
    """Bar on jaw; None for a bar that is pressed on its ends or not at all."""
    piece = piece_of(done.ground, station)
    if piece.form not in {"bar across", "upright bar"} or force_n <= 0:
        return None
    part = done.ground.stores.materials[done.ground.design.part.material]
    steel = (205e9, 0.29)
    modulus = contact_modulus_pa((part.e_gpa * 1e9, steel[0]), (part.nu, steel[1]))
    jaw = min(
        face.width_m if piece.form == "bar across" else face.strip_m
        for face in (piece.first, piece.second)
    )
    if jaw <= 0:
        return None
    return line_contact(force_n / jaw, piece.length_m / 2, modulus, part.yield_mpa * 1e6)


def squeeze(done: Computed) -> Iterator[Check]:
    """Blocks shortened between the jaws by a good part of their tolerance."""
    design = done.ground.design
    given = (
        design.part.tolerance.thickness,
        design.part.tolerance.parallelism,
        design.part.tolerance.flatness,
    )
    tightest = min((one.value for one in given if one is not None), default=None)
    if tightest is None:
        return
    material = done.ground.stores.materials[design.part.material]
    shortened = []
    for station, force in zip(design.stations, done.found.tightened.locked.link_n, strict=True):
        piece = piece_of(done.ground, station)
        if piece.form == "block":
            area = piece.width_m * piece.height_m
            by = squeeze_m(
                float(force), 2 * half_part_m(done.ground, station), area, material.e_gpa * 1e9
            )
            shortened.append((by, station.id))
    by, name = max(shortened, default=(0.0, ""))
    if by > NOTABLE_SQUEEZE * tightest:
        yield Check(
            code="part-shortened",
            level="note",
            subject=f"station {name}",
            message=f"the part at {name} is an estimated {mm(by * 1e6)} shorter while it is clamped; what is "
            "bored or cut across it springs back by about that",
            fix="finish the fine features at the finishing torque, or in a later operation",
        )


def _index(done: Computed, station: Station) -> int:
    return [each.id for each in done.ground.design.stations].index(station.id)
