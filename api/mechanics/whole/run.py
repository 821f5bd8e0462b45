"""One whole computation: the plate's poses, the forces, the heights, and the bands about them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from api.mechanics.contact.rests import Receivers
from api.mechanics.sequence.passes import Run
from api.mechanics.whole.assembly import Assembly
from api.mechanics.whole.bands import (
    BAR_SHARES,
    PULL_SHARE,
    Draws,
    Spread,
    alike,
    draw,
    interval,
    link_draws,
    pooled,
    screw_band,
)
from api.mechanics.whole.loaded import Loaded, loaded, with_shares
from api.mechanics.whole.planning import Plan, plan_of, point_samples
from api.mechanics.whole.response import (
    Response,
    State,
    balance_error,
    pulled_with,
    response,
    rest_state,
)
from api.mechanics.whole.tightening import (
    Bed,
    Tightened,
    targets_n,
    tighten,
    tightening_bed,
)

Array = npt.NDArray[np.float64]
Pose = Literal["bare pulled", "touched lying", "touched pulled", "pressed lying", "pressed pulled"]
POSES: tuple[Pose, ...] = (
    "bare pulled",
    "touched lying",
    "touched pulled",
    "pressed lying",
    "pressed pulled",
)
FINE_M, COARSE_M = 0.025, 0.05


@dataclass(frozen=True)
class Solved:
    """One assembly on one grid, tightened; `heights_m[pose]` (k,) at the points."""

    assembly: Assembly
    response: Response
    plan: Plan
    tightened: Tightened
    poses: dict[Pose, State]
    heights_m: dict[Pose, Array]


@dataclass(frozen=True)
class Bands:
    """95 % intervals: side force and tension of each jack at its torque (n,), force in each jack
    and link when pulled down (n,), (m,), least of free and pulled down, heights at points (k,)."""

    side: Spread
    screw: Spread
    locked: Spread
    least_link_n: Array
    readings: Spread


@dataclass(frozen=True)
class Accuracy:
    """What the computation found about itself; all but the counts are relative."""

    unknowns: int
    contact_steps: int
    residual: float
    balance_error: float
    grid_change: float
    condition: float


def solve(
    assembly: Assembly,
    shares: Sequence[float] | None,
    order: Sequence[int] | None,
    spacing_m: float = FINE_M,
) -> Solved:
    """Shares of the passes and the order are searched where they are None.

    Raises ValueError, with what to change, where the plate cannot rest or the forces not hold.
    """
    return solved_on(loaded(assembly, spacing_m), assembly, shares, order)


def solved_on(
    on: Loaded, assembly: Assembly, shares: Sequence[float] | None, order: Sequence[int] | None
) -> Solved:
    """`solve` on a plate that is solved already; rests and studs may have moved."""
    it = response(on, assembly)
    bed = tightening_bed(it, assembly, targets_n(assembly))
    return _tightened(it, assembly, bed, plan_of(it, assembly, bed, shares, order))


def coarser(found: Solved) -> Solved:
    """The same order and passes on the coarse grid; what its plan says of itself is that of `found`."""
    return _planned(response(loaded(found.assembly, COARSE_M), found.assembly), found)


def again(near: Solved, changed: Assembly, spacing_m: float = COARSE_M) -> Solved:
    """The order and passes of `near` on a changed assembly, with all of it that still holds.

    `spacing_m` is that of `near`, for a plate that must be solved anew. The cheapest changes are those
    of torque and pull, then of rests and studs, of the bars' shares, of anything else. What the plan
    says of its own worth stays that of `near`. Raises ValueError as `solve` does.
    """
    was, it = near.assembly, near.response
    if changed == was:
        return near
    if replace(changed, jacks=was.jacks, tightened_locked=was.tightened_locked) == was:
        return _planned(it, near, changed)
    pull_n = was.receivers.pull_n
    if pull_n > 0 and replace(changed, receivers=_pulling(changed, pull_n)) == was:
        stronger = pulled_with(it, changed.receivers.pull_n / pull_n)
        return _planned(stronger, near, changed)
    return _planned(response(_plate_of(near, changed, spacing_m), changed, it), near, changed)


def _plate_of(near: Solved, changed: Assembly, spacing_m: float) -> Loaded:
    was, on = near.assembly, near.response.on
    if replace(changed, receivers=was.receivers, jacks=was.jacks, shape=was.shape) != replace(
        was, tightened_locked=changed.tightened_locked
    ):
        return loaded(changed, spacing_m)
    if changed.shape == was.shape:
        return on
    bars = zip(changed.shape.bars, was.shape.bars, strict=False)
    unshared = tuple(replace(bar, share=old.share) for bar, old in bars)
    if replace(changed.shape, bars=unshared) == was.shape:
        return with_shares(on, changed.shape)
    return loaded(changed, spacing_m)


def _planned(it: Response, near: Solved, changed: Assembly | None = None) -> Solved:
    assembly = near.assembly if changed is None else changed
    bed = tightening_bed(it, assembly, targets_n(assembly))
    run = near.tightened.run if _pulls_alike(near, assembly, bed) else None
    return _tightened(it, assembly, bed, near.plan, run)


def _pulls_alike(near: Solved, assembly: Assembly, bed: Bed) -> bool:
    """Whether every pull does what it did: a plate that lies free does not feel its receivers."""
    old, new = near.tightened.bed.interaction, bed.interaction
    return (
        np.array_equal(new.compliance_m_per_n, old.compliance_m_per_n)
        and np.array_equal(new.gap_m, old.gap_m)
        and np.array_equal(targets_n(assembly), targets_n(near.assembly))
    )


def _tightened(
    it: Response, assembly: Assembly, bed: Bed, plan: Plan, run: Run | None = None
) -> Solved:
    tightened = tighten(it, assembly, np.array(plan.shares), np.array(plan.order), bed, run)
    pulled = rest_state(it, pulled=True, closing_m=None)
    poses: dict[Pose, State] = {
        "bare pulled": pulled,
        "touched lying": rest_state(it, pulled=False, closing_m=None),
        "touched pulled": pulled,
        "pressed lying": tightened.free,
        "pressed pulled": tightened.locked,
    }
    at = point_samples(it, assembly)
    heights = {pose: np.asarray(at @ state.field) for pose, state in poses.items()}
    return Solved(assembly, it, plan, tightened, poses, heights)


def bands(found: Solved, coarse: Solved, readings: tuple[tuple[Pose, Pose], ...]) -> Bands:
    """`coarse` is the same on a coarse grid; `readings` names each point's zero and read pose."""
    drawn = draw(found.assembly)
    usual = targets_n(found.assembly)
    free, locked = link_draws(found.tightened, drawn)
    mean = found.tightened.bed.interaction.jack_forces
    heights = _height_draws(found, coarse, drawn, free, locked)
    taken = [heights[read][:, k] - heights[zero][:, k] for k, (zero, read) in enumerate(readings)]
    expected = [
        found.heights_m[read][k] - found.heights_m[zero][k]
        for k, (zero, read) in enumerate(readings)
    ]
    return Bands(
        pooled(drawn.side_n, usual, alike(found.assembly.jacks)),
        screw_band(found.assembly, drawn),
        interval(mean(locked), mean(found.tightened.locked.link_n)),
        np.minimum(*(np.quantile(force, 0.025, axis=0) for force in (free, locked))),
        interval(np.array(taken).T.reshape(len(free), -1), np.array(expected)),
    )


def _height_draws(
    found: Solved, coarse: Solved, drawn: Draws, free: Array, locked: Array
) -> dict[Pose, Array]:
    """Heights at the points for each draw, (d, k), linear about the usual state."""
    at = point_samples(found.response, found.assembly)
    ends = {
        "pressed lying": (found.tightened.free, found.tightened.bed.fields, free),
        "pressed pulled": (found.tightened.locked, found.tightened.locked_bed.fields, locked),
    }
    shifts = _shifts(coarse, drawn)
    heights: dict[Pose, Array] = {}
    for pose in POSES:
        steady = np.tile(found.heights_m[pose], (len(free), 1))
        if pose in ends:
            state, fields, force = ends[pose]
            per_newton = np.asarray(at @ fields)
            moved = drawn.plate[:, None] * force - state.link_n
            steady = steady + moved @ per_newton.T + shifts[pose]
        heights[pose] = steady
    return heights


def _shifts(coarse: Solved, drawn: Draws) -> dict[Pose, Array]:
    """What a stronger pull and stiffer bars add to the heights, linear in both, (d, k)."""
    assembly = coarse.assembly
    total = {pose: np.zeros((len(drawn.pull), len(assembly.points))) for pose in POSES}
    for (less, more), factor in ((_pulls(assembly), drawn.pull), (_bar_ends(assembly), drawn.bars)):
        low, high = (again(coarse, changed).heights_m for changed in (less, more))
        for pose in POSES:
            total[pose] += factor[:, None] * (high[pose] - low[pose]) / 2
    return total


def _pulls(assembly: Assembly) -> tuple[Assembly, Assembly]:
    less, more = (
        replace(assembly, receivers=_pulling(assembly, assembly.receivers.pull_n * factor))
        for factor in (1 - PULL_SHARE, 1 + PULL_SHARE)
    )
    return less, more


def _pulling(assembly: Assembly, pull_n: float) -> Receivers:
    return replace(assembly.receivers, pull_n=pull_n)


def _bar_ends(assembly: Assembly) -> tuple[Assembly, Assembly]:
    if assembly.share_known or not assembly.shape.bars:
        return assembly, assembly
    less, more = (
        replace(
            assembly,
            shape=replace(
                assembly.shape,
                bars=tuple(
                    replace(bar, share=share) if bar.share < 1 else bar
                    for bar in assembly.shape.bars
                ),
            ),
        )
        for share in BAR_SHARES
    )
    return less, more


def accuracy(found: Solved, coarse: Solved) -> Accuracy:
    """`coarse` is the same on a grid of twice the spacing: what halving it has changed."""
    largest = max(np.abs(height).max(initial=0.0) for height in found.heights_m.values())
    change = max(
        np.abs(coarse.heights_m[pose] - found.heights_m[pose]).max(initial=0.0) for pose in POSES
    )
    on = found.response.on
    return Accuracy(
        unknowns=on.solver.bending.N + on.solver.stretching.N,
        contact_steps=sum(state.settled.steps for state in found.poses.values()),
        residual=on.solver.residual(on.link_fields, on.link_loads),
        balance_error=max(balance_error(found.response, state) for state in found.poses.values()),
        grid_change=float(change / largest) if largest > 0 else 0.0,
        condition=found.tightened.bed.interaction.condition,
    )
