"""Passes over the jacks with a click wrench, and what is left of each force.

One pass tightens every jack once, in order, to a share of its target. In a pass where no link parts
and no jack is above its target it is exactly one Gauss-Seidel sweep of M H J u = target, so repeating
the same torque converges. Later jacks unload (shared plate, shared stops) or load (shared parts)
earlier ones. A state change of the plate keeps the spreads and changes G and the gaps.

Break-away torque of a screw at rest is 5 to 20 % above its running torque, so a jack only a little
low does not turn when it is checked: `would_move` names those more than `dead_band` low,
`below_target` all that are low at all.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from api.mechanics.sequence.contact import Contact, scaled_compliance, solve_contact
from api.mechanics.sequence.interaction import Bools, Floats, Interaction, InteractionError, Ints
from api.mechanics.sequence.ratchet import Ratchet

DEAD_BAND = 0.1
LOW = 1e-9  # of the target; nearer than this is at target
BATCH_BYTES = 2_000_000  # of inverses worked on at a time, about a processor's near memory


@dataclass(frozen=True, eq=False)
class Run:
    """p passes over n jacks on m links. `pull` axes follow the order, jack axes the numbering."""

    order: Ints  # (n,)
    shares: Floats  # (p,)
    jack_n: Floats  # (p, n) after each pass
    link_n: Floats  # (p, m)
    before_n: Floats  # (p, n) force of a jack just before it is pulled in that pass
    turned_m: Floats  # (p, n) spread gained in that pass
    below_target: Bools  # (p, n) low at all when its turn came
    would_move: Bools  # (p, n) low by more than the dead band when its turn came
    pull_link_n: Floats  # (p, n, m) after every single pull
    pull_jack_n: Floats  # (p, n, n)
    pull_touching: Bools  # (p, n, m)
    spread_m: Floats  # (n,) at the end

    @property
    def pulls(self) -> int:
        return int(self.before_n.size)


@dataclass(frozen=True, eq=False)
class Runs:
    """The same for d draws at once, without the trace."""

    jack_n: Floats  # (d, p, n)
    link_n: Floats  # (d, p, m)
    before_n: Floats  # (d, p, n)
    would_move: Bools  # (d, p, n)
    spread_m: Floats  # (d, n)


def run_passes(
    interaction: Interaction,
    target_n: Floats,
    shares: Floats,
    order: Ints,
    *,
    start_m: Floats | None = None,
    dead_band: float = DEAD_BAND,
    stick: float = 0.0,
) -> Run:
    """Tighten in `order` (n,), once per share (p,) of the targets (n,); from touch, or from `start_m`.

    `stick` is how far below what is set a jack may be and yet not break away; 0 is an ideal wrench.
    Raises InteractionError for an order that is not one of all jacks, or a target or share below 0.
    """
    check_plan(interaction, target_n, shares, order)
    ratchet = Ratchet(interaction, 1)
    if start_m is not None:
        ratchet.start_from(start_m[None, :])
    shape = (shares.size, order.size)
    links = np.zeros((*shape, interaction.links))
    touching = np.zeros(links.shape, dtype=np.bool_)
    before, turned = np.zeros(shape), np.zeros(shape)
    for pull in ratchet.pulls(target_n[None, :], shares, order[None, :], stick):
        here, jack = (pull.pass_index, pull.place), int(pull.jacks[0])
        links[here], touching[here] = ratchet.link_n[0], ratchet.touching[0]
        before[pull.pass_index, jack] = pull.before_n[0]
        turned[pull.pass_index, jack] = pull.turned_m[0]
    goal = shares[:, None] * target_n
    jacks = interaction.jack_forces(links)
    return Run(
        order=order,
        shares=shares,
        jack_n=jacks[:, -1],
        link_n=links[:, -1],
        before_n=before,
        turned_m=turned,
        below_target=before < goal * (1 - LOW),
        would_move=before < goal * (1 - dead_band),
        pull_link_n=links,
        pull_jack_n=jacks,
        pull_touching=touching,
        spread_m=ratchet.spread_m[0],
    )


def recheck(
    interaction: Interaction,
    target_n: Floats,
    order: Ints,
    spread_m: Floats,
    dead_band: float = DEAD_BAND,
) -> Run:
    """One more pass at full target from these spreads: who is low, who would move, what it gives.

    Give the interaction of the state the plate is checked in; its spreads may come from another.
    """
    return run_passes(
        interaction,
        target_n,
        np.ones(1),
        order,
        start_m=spread_m,
        dead_band=dead_band,
        stick=dead_band,
    )


def after_change(interaction: Interaction, spread_m: Floats) -> Contact:
    """Forces when the plate's state has changed to `interaction` (its G and gaps), spreads kept (n,)."""
    return solve_contact(interaction, spread_m)


def run_batch(
    interaction: Interaction,
    targets_n: Floats,
    shares: Floats,
    order: Ints,
    *,
    scale: Floats | None = None,
    start_m: Floats | None = None,
    dead_band: float = DEAD_BAND,
    stick: float = 0.0,
) -> Runs:
    """`run_passes` for d draws: targets (d, n), factor on G (d,) if any, start spreads (d, n) if any.

    Exact, parting links too. Only G is scaled: to draw own compliance as well give
    scale = factor of G / factor of own; the forces are the same and spreads are divided by the latter
    (as long as the gaps are 0).
    """
    check_plan(interaction, targets_n, shares, order)
    factors = np.ones(targets_n.shape[0]) if scale is None else scale
    parts = [
        _run_part(interaction, targets_n[at], shares, order, factors[at], _at(start_m, at), stick)
        for at in _parts(targets_n.shape[0], interaction.links)
    ]
    links, before, spread = (np.concatenate([part[k] for part in parts]) for k in range(3))
    would_move = before < shares[:, None] * targets_n[:, None, :] * (1 - dead_band)
    return Runs(interaction.jack_forces(links), links, before, would_move, spread)


def after_change_batch(
    interaction: Interaction, spreads_m: Floats, scale: Floats | None = None
) -> Floats:
    """Link forces (d, m) of `after_change` for spreads (d, n) and factors on G (d,)."""
    push = spreads_m @ interaction.presses.T - interaction.gap_m
    factors = np.ones(spreads_m.shape[0]) if scale is None else scale
    own = np.diag(interaction.own_m_per_n)
    coupling = scaled_compliance(interaction, 1.0) - own
    compliance = own + factors[:, None, None] * coupling
    link_n = np.linalg.solve(compliance, push[:, :, None])[:, :, 0]
    for draw in np.flatnonzero((link_n < 0).any(axis=1)):
        found = solve_contact(interaction, spreads_m[draw], link_n[draw] > 0, float(factors[draw]))
        link_n[draw] = found.link_n
    return np.asarray(link_n, dtype=np.float64)


def check_plan(interaction: Interaction, targets_n: Floats, shares: Floats, order: Ints) -> None:
    """Raise InteractionError unless order, shares and targets (..., n) fit the jacks."""
    n = interaction.jacks
    if not np.array_equal(np.sort(order, axis=-1), np.broadcast_to(np.arange(n), order.shape)):
        raise InteractionError(
            f"The order must name each of the {n} jacks once; got {order.tolist()}."
        )
    if targets_n.shape[-1] != n or not np.isfinite(targets_n).all() or (targets_n < 0).any():
        raise InteractionError(f"Give each of the {n} jacks a target force of 0 N or more.")
    if shares.size == 0 or not np.isfinite(shares).all() or (shares < 0).any():
        raise InteractionError(
            "Give at least one pass, each with a share of the target of 0 or more."
        )


def _run_part(
    it: Interaction,
    targets_n: Floats,
    shares: Floats,
    order: Ints,
    scale: Floats,
    start_m: Floats | None,
    stick: float,
) -> tuple[Floats, Floats, Floats]:
    runs = targets_n.shape[0]
    ratchet = Ratchet(it, runs, scale=scale)
    if start_m is not None:
        ratchet.start_from(start_m)
    links = np.zeros((runs, shares.size, it.links))
    before = np.zeros((runs, shares.size, it.jacks))
    for pull in ratchet.pulls(targets_n, shares, np.tile(order, (runs, 1)), stick):
        before[:, pull.pass_index, pull.jacks[0]] = pull.before_n
        if pull.place == it.jacks - 1:
            links[:, pull.pass_index] = ratchet.link_n
    return links, before, ratchet.spread_m


def _parts(draws: int, links: int) -> list[slice]:
    size = max(16, BATCH_BYTES // (8 * links * links))
    return [slice(first, min(first + size, draws)) for first in range(0, draws, size)]


def _at(values: Floats | None, at: slice) -> Floats | None:
    return None if values is None else values[at]
