"""Order of the jacks and number of passes: least loss and bow for the fewest pulls and least travel.

Objective, one after the other: pulls needed for every jack to end with `least_share` of its target;
then worst loss, mean loss, intermediate bow and hand travel as `judging` steps them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from api.mechanics.sequence.interaction import Floats, Interaction, InteractionError, Ints
from api.mechanics.sequence.judging import Bench, Layout, Verdicts
from api.mechanics.sequence.passes import run_passes
from api.mechanics.sequence.ratchet import shared_inverses
from api.mechanics.sequence.routes import first_guesses
from api.mechanics.sequence.searching import Best, search

Shares = tuple[float, ...]
# Gentler plans first among those with as many passes: they win where nothing else decides.
DEFAULT_PLANS: tuple[Shares, ...] = (
    (1.0,),
    (0.5, 1.0),
    (1.0, 1.0),
    (0.3, 0.7, 1.0),
    (0.5, 1.0, 1.0),
    (1.0, 1.0, 1.0),
    (0.3, 0.7, 1.0, 1.0),
    (1.0, 1.0, 1.0, 1.0),
)
LEAST_SHARE = 0.9
QUICK = 0.25  # of the effort of a full search, to see whether a plan can do


@dataclass(frozen=True)
class Effect:
    """What one order gives with the plan."""

    least_share: float
    worst_loss: float
    mean_loss: float
    worst_gain: float
    worst_bow_m: float
    final_bow_m: float
    travel_m: float


@dataclass(frozen=True, eq=False)
class Found:
    """The order found for a plan of passes, beside row by row with the same plan."""

    order: Ints  # (n,)
    shares: Floats  # (p,)
    pulls: int
    effect: Effect
    rows: Effect
    exact: bool  # no order is better; otherwise the best the search met
    loss_bound: float  # no order loses less than this; 0 if nothing is proved
    judged: int  # orders tried

    @property
    def loss_saved(self) -> float:
        """Share of the target the worst jack keeps more than row by row, with the same passes."""
        return self.rows.worst_loss - self.effect.worst_loss

    @property
    def travel_saved_m(self) -> float:
        return self.rows.travel_m - self.effect.travel_m


@dataclass(frozen=True, eq=False)
class Plan:
    """The fewest passes that do, and what fewer passes could reach at best as far as searched."""

    found: Found
    enough: bool
    by_passes: tuple[
        Found, ...
    ]  # best plan of 1, 2, ... passes, the last of them `found` if enough


def best_order(
    interaction: Interaction,
    target_n: Floats,
    shares: Floats,
    layout: Layout,
    *,
    effort: float = 1.0,
    seed: int = 0,
) -> Found:
    """Best order for these shares (p,) of the targets (n,), all above 0; exact up to 8 jacks."""
    return _found(
        search(Bench(interaction, target_n, shares, layout), effort=effort, seed=seed), shares
    )


def fewest_passes(
    interaction: Interaction,
    target_n: Floats,
    layout: Layout,
    *,
    plans: tuple[Shares, ...] = DEFAULT_PLANS,
    least_share: float = LEAST_SHARE,
    effort: float = 1.0,
) -> Plan:
    """Fewest passes, of those in `plans`, after which every jack has `least_share` of its target.

    For each number of passes the plan is chosen on plausible orders, then its order is searched. If no
    number is enough the result is the one whose worst jack keeps most, and `enough` is False.
    """
    if not plans:
        raise InteractionError("Give at least one plan of passes to choose from.")
    memory = shared_inverses(interaction)
    tried: list[Found] = []
    for passes in sorted({len(plan) for plan in plans}):
        benches = [
            Bench(interaction, target_n, np.array(plan), layout, memory)
            for plan in plans
            if len(plan) == passes
        ]
        bench = _most_promising(benches)
        quick = _found(search(bench, effort=QUICK * effort), bench.shares)
        tried.append(quick)
        if quick.effect.least_share >= least_share:
            tried[-1] = quick if quick.exact else _found(search(bench, effort=effort), bench.shares)
            return Plan(tried[-1], True, tuple(tried))
    most = max(tried, key=lambda found: found.effect.least_share)
    return Plan(most, False, tuple(tried))


def share_by_pass(interaction: Interaction, target_n: Floats, order: Ints, most: int = 4) -> Floats:
    """Share of its target each jack has after 1 .. `most` passes at full target (most, n)."""
    return run_passes(interaction, target_n, np.ones(most), order).jack_n / target_n


def _most_promising(benches: list[Bench]) -> Bench:
    first = benches[0]
    guesses = first_guesses(first.interaction, first.target_n, first.layout.positions_m)
    verdicts = [bench.judge(guesses) for bench in benches]
    stick = first.yardstick(verdicts[0].pick(0))
    keys = [float(stick.key(verdict).min()) for verdict in verdicts]
    return benches[int(np.argmin(keys))]


def _found(best: Best, shares: Floats) -> Found:
    order = best.verdict.orders[0]
    return Found(
        order=order,
        shares=shares,
        pulls=int(order.size * shares.size),
        effect=_effect(best.verdict),
        rows=_effect(best.rows),
        exact=best.exact,
        loss_bound=best.loss_bound,
        judged=best.judged,
    )


def _effect(verdict: Verdicts) -> Effect:
    return Effect(
        least_share=float(verdict.least_share[0]),
        worst_loss=float(verdict.worst_loss[0]),
        mean_loss=float(verdict.mean_loss[0]),
        worst_gain=float(verdict.worst_gain[0]),
        worst_bow_m=float(verdict.worst_bow_m[0]),
        final_bow_m=float(verdict.final_bow_m[0]),
        travel_m=float(verdict.travel_m[0]),
    )
