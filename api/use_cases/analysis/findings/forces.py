"""Findings about what the clamps press with."""

from __future__ import annotations

from collections.abc import Iterator

from api.domain.analyses.result import Check, ClampResult
from api.domain.designs.specs import thread_of_spec
from api.mechanics.screws.limits import proof_share
from api.mechanics.side_force.forces import Frictions
from api.mechanics.side_force.twin import Twin
from api.mechanics.side_force.wedge import Wedge
from api.use_cases.analysis.computing import Computed
from api.use_cases.analysis.remedies import Remedies
from api.use_cases.analysis.sentences import kn, listed, passes, percent, times

KEPT, GAINED, LOOSE, NEAR_PROOF = 0.9, 1.15, 0.02, 0.75


def ratings(done: Computed, clamps: dict[str, ClampResult]) -> Iterator[Check]:
    """One sentence per spec and torque; clamps alike are named together."""
    groups: dict[tuple[str, float], list[str]] = {}
    for clamp in done.ground.design.clamps:
        groups.setdefault((clamp.spec, clamp.torque_nm), []).append(clamp.id)
    for (name, torque), ids in groups.items():
        rated, side = done.ground.specs[name].rated, clamps[ids[0]].side_n
        if rated is None or rated.force is None:
            continue
        locked = max(clamps[each].after_lock_n for each in ids)
        if side.high > rated.force.value:
            yield _above(done, ids, torque, rated.force.value, clamps[ids[0]])
        elif locked > rated.force.value:
            yield Check(
                code="force-above-rating",
                level="advice",
                subject=f"clamp {listed(ids)}",
                message=f"locking the plate flattens it and raises the force to an estimated "
                f"{kn(locked)}; the clamp is rated for {kn(rated.force.value)}",
                fix="tighten with the plate locked, or give less torque",
            )


def _above(
    done: Computed, ids: list[str], torque: float, rated_n: float, result: ClampResult
) -> Check:
    side = result.side_n
    share = rated_n / side.high
    holds = [held.margins.overall for held in done.holds if held is not None]
    grip = f", and the grip then holds {times(min(holds) * share)} the cut" if holds else ""
    return Check(
        code="force-above-rating",
        level="stop" if side.usual > rated_n else "advice",
        subject=f"clamp {listed(ids)}",
        message=f"{listed(ids)} {'presses' if len(ids) == 1 else 'press'} with an estimated {kn(side.usual)} "
        f"({kn(side.low)} to {kn(side.high)}) at {torque:.3g} N·m; the clamp is rated for {kn(rated_n)}",
        fix=f"at {torque * share:.2g} N·m the high end stays within the rating{grip}",
    )


def losses(done: Computed, remedies: Remedies) -> Iterator[Check]:
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


def gains(done: Computed, clamps: dict[str, ClampResult]) -> Iterator[Check]:
    """Parts squeezed well above what their clamps' torques give: shared parts, flattened plates."""
    ends = (
        (done.found.tightened.locked, "when the plate is locked"),
        (done.found.tightened.free, "after the last pass"),
    )
    for state, when in ends:
        high = []
        for station, force in zip(done.ground.design.stations, state.link_n, strict=True):
            target = max(clamps[name].side_n.usual for name in station.between if name in clamps)
            if float(force) > GAINED * target:
                high.append((float(force) / target, station.id))
        if high:
            share, name = max(high)
            more = f"; {len(high) - 1} more are above {percent(GAINED)}" if len(high) > 1 else ""
            yield Check(
                code="part-squeezed",
                level="advice",
                subject=f"station {name}",
                message=f"the part at {name} is pressed with {percent(share)} of its clamp's force "
                f"{when}{more}",
                fix="expect its squeeze and marks to be that much larger; "
                + (
                    "tighten with the plate locked, which leaves nothing to flatten"
                    if when.startswith("when") and not done.found.assembly.tightened_locked
                    else "a part between two clamps takes what both add; give one of them less torque"
                ),
            )
            return


def movers(done: Computed) -> Iterator[Check]:
    if done.movers == 0:
        return
    count = len(done.ground.design.clamps)
    yield Check(
        code="movers-expected",
        level="advice",
        subject="tightening",
        message=f"{done.movers} of {count} screws are expected to turn in a re-check pass",
        fix="add a pass at full torque; each mover asks for one anyway",
    )


def order(done: Computed) -> Iterator[Check]:
    """What the order that was searched gains over going row by row."""
    plan = done.found.plan
    if not plan.searched:
        return
    hands = (
        f"the hand travels {plan.travel_m:.1f} m instead of {plan.rows_travel_m:.1f} m"
        if plan.travel_m < plan.rows_travel_m
        else f"the hand travels {plan.travel_m:.1f} m"
    )
    yield Check(
        code="order-found",
        level="note",
        subject="tightening",
        message=f"in the order found, the clamp that loses most keeps {percent(plan.least_share)} of its "
        f"force, row by row {percent(plan.rows_least_share)}; {hands}",
        fix="the steps follow this order; write an order into the file to fix another one",
    )


def proof(done: Computed, clamps: dict[str, ClampResult]) -> Iterator[Check]:
    """Screws near their proof load at the low end of friction; the worst is told."""
    shares = []
    for clamp in done.ground.design.clamps:
        spec, screw = done.ground.specs[clamp.spec], clamps[clamp.id].screw_n
        thread = thread_of_spec(spec)
        if thread is not None and spec.strength is not None and screw is not None:
            shares.append((float(proof_share(thread, spec.strength, screw.high)), clamp.id))
    share, name = max(shares, default=(0.0, ""))
    if share > NEAR_PROOF:
        yield Check(
            code="screw-near-proof",
            level="advice",
            subject=f"clamp {name}",
            message=f"with friction at its low end, the screw of {name} is pulled to {percent(share)} of its "
            "proof load",
            fix=f"lower its torque by {percent(1 - NEAR_PROOF / share)}, or use a stronger screw",
        )


def hidden_losses(done: Computed) -> Iterator[Check]:
    """Wedges keep their side force while the screw slackens, so a re-check cannot see it."""
    for clamp, jack in zip(done.ground.design.clamps, done.found.assembly.jacks, strict=True):
        if not isinstance(jack.spreader, Wedge | Twin):
            continue
        usual = Frictions.same(jack.friction.usual, jack.base.usual)
        share = max(0.0, float(jack.spreader.held_share(usual)))
        until = (
            f"until the screw is down to about {percent(share)} of its tension"
            if share > 0
            else "even with the screw slack: it locks itself"
        )
        yield Check(
            code="recheck-sees-little",
            level="note",
            subject=f"clamp {clamp.id}",
            message=f"a wedge like {clamp.id} keeps pressing {until}, so a wrench that does not move in the "
            "re-check says little about the side force, and the reverse",
            fix="loosen such a clamp with a tap, and check its force on a gauge when that is due",
        )
        return
