"""From torques to forces: passes, the order, lock-down."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from api.mechanics.sequence.interaction import Interaction
from api.mechanics.sequence.passes import Run, run_passes
from api.mechanics.side_force.forces import Frictions, SideForce, Spreader
from api.mechanics.whole.assembly import Assembly, Jack
from api.mechanics.whole.response import Response, State, bonded, lying, opening_m, rest_state

Array = npt.NDArray[np.float64]
LOCKED_ROUNDS = 3


@dataclass(frozen=True)
class Bed:
    """The plate in the state in which it is tightened, answering linearly.

    `interaction` has the gap the links start from: they touch, unpressed, in the state `snug`.
    `fields` (unknowns, m) is how the plate moves per newton in each link.
    """

    interaction: Interaction
    fields: Array
    snug: State


@dataclass(frozen=True)
class Tightened:
    """Forces over the passes, and the plate afterwards, free and pulled down."""

    run: Run
    bed: Bed
    free: State
    locked: State
    locked_bed: Bed


def side_force(jack: Jack, friction: float) -> SideForce:
    """At the jack's torque, for one friction of thread, head and face and the usual one of the base."""
    return _side_force(jack.spreader, jack.torque_nm, friction, jack.base.usual)


@lru_cache(maxsize=256)
def _side_force(spreader: Spreader, torque_nm: float, friction: float, base: float) -> SideForce:
    """Asked for again and again, of the same few spreaders."""
    return spreader.side_force(torque_nm, Frictions.same(friction, base))


def presses(assembly: Assembly) -> Array:
    """1 where a jack (column) presses a link (row)."""
    table = np.zeros((len(assembly.links), len(assembly.jacks)))
    for i, link in enumerate(assembly.links):
        for jack in link.jacks:
            table[i, jack] += 1.0
    return table


def targets_n(assembly: Assembly) -> Array:
    """Side force of each jack at its torque and its usual friction, (n,)."""
    return np.array(
        [float(side_force(jack, jack.friction.usual).side_n) for jack in assembly.jacks]
    )


def free_bed(it: Response, assembly: Assembly, target_n: Array) -> Bed:
    """Tightened while the plate only lies there: the studs do not pull, its weight hardly counts."""
    snug = rest_state(it, pulled=False, closing_m=None)
    interaction = Interaction(_own(assembly), it.on.coupling_m_per_n, presses(assembly))
    closing = interaction.compliance_m_per_n @ _wanted(assembly, target_n) + opening_m(it, snug)
    done = rest_state(it, pulled=False, closing_m=closing)
    return Bed(interaction, lying(it, done), snug)


def locked_bed(it: Response, assembly: Assembly, snug: State, done: State) -> Bed:
    """Answering as it does where it rests when pulled down and tightened (`done`).

    The links touched first in `snug`; what the plate has opened since then, beyond what its linear
    answer to their forces explains, stands as a gap.
    """
    fields, coupling = bonded(it, done.settled.pushing)
    unbent = it.on.coupling_m_per_n - it.on.link_loads.T @ it.on.link_fields
    opened = opening_m(it, done) + unbent @ done.link_n - opening_m(it, snug)
    interaction = Interaction(
        _own(assembly), coupling, presses(assembly), opened - coupling @ done.link_n
    )
    return Bed(interaction, fields, snug)


def tighten(
    it: Response,
    assembly: Assembly,
    shares: Array,
    order: npt.NDArray[np.int64],
    bed: Bed,
    run: Run | None = None,
) -> Tightened:
    """All passes in this order, or as they are known to go, then the plate at rest, free and pulled down."""
    if run is None:
        run = run_passes(bed.interaction, targets_n(assembly), shares, order)
    closing = presses(assembly) @ run.spread_m + opening_m(it, bed.snug)
    free = rest_state(it, pulled=False, closing_m=closing)
    locked = rest_state(it, pulled=True, closing_m=closing)
    return Tightened(run, bed, free, locked, locked_bed(it, assembly, bed.snug, locked))


def tightening_bed(it: Response, assembly: Assembly, target_n: Array) -> Bed:
    """How the plate answers while it is tightened, near the end of it."""
    if not assembly.tightened_locked:
        return free_bed(it, assembly, target_n)
    snug = rest_state(it, pulled=True, closing_m=None)
    wanted = _wanted(assembly, target_n)
    closing = it.flexibility[it.contacts :, it.contacts :] @ wanted + opening_m(it, snug)
    for _ in range(LOCKED_ROUNDS):
        done = rest_state(it, pulled=True, closing_m=closing)
        bed = locked_bed(it, assembly, snug, done)
        closing = bed.interaction.compliance_m_per_n @ wanted + bed.interaction.gap_m
        closing = closing + opening_m(it, snug)
    return bed


def _wanted(assembly: Assembly, target_n: Array) -> Array:
    """About the force each link will have: the mean of its jacks' targets."""
    table = presses(assembly)
    return np.asarray(table @ target_n / table.sum(axis=1))


def _own(assembly: Assembly) -> Array:
    return np.array([link.own_m_per_n for link in assembly.links])


def repeated(done: Tightened, assembly: Assembly, more: int) -> float:
    """Least share of its target any jack has after `more` passes at full torque on top."""
    target, run = targets_n(assembly), done.run
    again = run_passes(done.bed.interaction, target, np.ones(more), run.order, start_m=run.spread_m)
    return float((again.jack_n[-1] / target).min())
