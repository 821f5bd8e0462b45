"""Order of the jacks and number of passes: least loss and bow for the fewest pulls and least travel.

Objective, one after the other: pulls needed for every jack to end with `least_share` of its target;
then worst loss, mean loss, intermediate bow and hand travel as `judging` steps them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from api.mechanics.sequence.forecast import Forecast
from api.mechanics.sequence.interaction import Floats, Interaction, InteractionError, Ints
from api.mechanics.sequence.judging import LOSS_STEP, Bench, Layout, Verdicts
from api.mechanics.sequence.ratchet import shared_inverses
from api.mechanics.sequence.routes import first_guesses
from api.mechanics.sequence.searching import Best, begin, search

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
FORECAST_ERROR = 1e-3  # of a step of loss
HOPE = 0.1  # share by which a search may be hoped to better the best first guess


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

    For each number of passes the plan is chosen by forecast on plausible orders and judged exactly; its
    order is searched if the best of those comes within `HOPE` of enough. If no number is enough the
    result is the one whose worst jack keeps most, and `enough` is False.
    """
    if not plans:
        raise InteractionError("Give at least one plan of passes to choose from.")
    memory = shared_inverses(interaction)
    tried: list[Found] = []
    for passes in sorted({len(plan) for plan in plans}):
        shares = _likeliest(
            interaction, target_n, layout, [plan for plan in plans if len(plan) == passes]
        )
        bench = Bench(interaction, target_n, shares, layout, memory)
        best = begin(bench)
        if best.verdict.least_share[0] >= least_share - HOPE:
            best = search(bench, best, effort=effort)
        tried.append(_found(best, shares))
        if tried[-1].effect.least_share >= least_share:
            return Plan(tried[-1], True, tuple(tried))
    most = max(tried, key=lambda found: found.effect.least_share)
    return Plan(most, False, tuple(tried))


def _likeliest(
    interaction: Interaction, target_n: Floats, layout: Layout, plans: list[Shares]
) -> Floats:
    """The plan whose best order, of the plausible ones, is forecast to lose least; the first of equals."""
    if len(plans) == 1:
        return np.array(plans[0])
    guesses = first_guesses(interaction, target_n, layout.positions_m)
    worst = []
    for plan in plans:
        losses = Forecast(interaction, target_n, np.array(plan)).losses(guesses)
        steps = np.floor(
            np.stack([losses.max(axis=1), losses.mean(axis=1)]) / LOSS_STEP + FORECAST_ERROR
        )
        worst.append(min(zip(*steps.tolist(), strict=True)))
    return np.array(plans[worst.index(min(worst))])


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
