"""How good an order of jacks is: what it leaves of the forces, how far the plate bows, how far hands go.

Judged in this order, each in steps so that a later one can decide between near equals:
1. worst loss, the largest shortfall of a jack's force from its target after the final pass, in steps
   of 1 % of the target;
2. mean loss over the jacks, in the same steps;
3. intermediate bow, by how much the largest bow at any point after any single pull exceeds the
   largest at the end, in steps of 2 % of the final bow of the row-by-row order;
4. travel of the hand, the sum of straight hops between jacks over all passes [m].
The number of pulls is jacks times passes, the same for every order of one plan.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from api.mechanics.sequence.interaction import Floats, Interaction, InteractionError, Ints
from api.mechanics.sequence.inverses import SharedInverses
from api.mechanics.sequence.passes import check_plan
from api.mechanics.sequence.ratchet import Ratchet, shared_inverses

LOSS_STEP = 0.01
BOW_STEP = 0.02
MOST_BOW_STEPS = 999
MOST_LOSS_STEPS = 101
NEAR = 1e-9
ORDERS_AT_A_TIME = 2048


@dataclass(frozen=True, eq=False)
class Layout:
    """Where the jacks are, and how points of the plate bow per newton in each link."""

    positions_m: Floats  # (n, 2)
    bow_m_per_n: Floats  # (k, m), k may be 0


@dataclass(frozen=True, eq=False)
class Verdicts:
    """What d orders give with one plan of passes."""

    orders: Ints  # (d, n)
    least_share: Floats  # (d,) of its target, in the worst jack at the end
    worst_loss: Floats  # (d,) 1 - least_share, 0 if none is low
    mean_loss: Floats  # (d,) of the target, over the jacks
    worst_gain: Floats  # (d,) of its target, in the jack most above it
    worst_bow_m: Floats  # (d,) largest bow at any point after any pull
    final_bow_m: Floats  # (d,) largest bow at any point at the end
    travel_m: Floats  # (d,)

    def pick(self, at: int) -> Verdicts:
        """The verdict on one order, as a batch of one."""
        return Verdicts(*(getattr(self, field.name)[at : at + 1] for field in fields(self)))

    @staticmethod
    def join(parts: list[Verdicts]) -> Verdicts:
        names = [field.name for field in fields(Verdicts)]
        return Verdicts(
            *(np.concatenate([getattr(part, name) for part in parts]) for name in names)
        )


@dataclass(frozen=True)
class Yardstick:
    """Turns verdicts into one number, smaller is better, that compares in the order above."""

    bow_step_m: float
    longest_travel_m: float

    def loss_level(self, loss: Floats) -> Floats:
        return np.asarray(np.floor(np.maximum(loss, 0.0) / LOSS_STEP + NEAR), dtype=np.float64)

    def bow_level(self, verdicts: Verdicts) -> Floats:
        if self.bow_step_m <= 0:
            return np.zeros(len(verdicts.orders))
        excess = np.maximum(verdicts.worst_bow_m - verdicts.final_bow_m, 0.0)
        return np.asarray(np.minimum(np.floor(excess / self.bow_step_m + NEAR), MOST_BOW_STEPS))

    def key(self, verdicts: Verdicts) -> Floats:
        """One number per verdict (d,), rounded so that noise decides nothing."""
        return self.rank(
            verdicts.worst_loss, verdicts.mean_loss, self.bow_level(verdicts), verdicts.travel_m
        )

    def rank(
        self, worst_loss: Floats, mean_loss: Floats, bow_level: Floats, travel_m: Floats
    ) -> Floats:
        losses = self.loss_level(worst_loss) * MOST_LOSS_STEPS + self.loss_level(mean_loss)
        steps = losses * (MOST_BOW_STEPS + 1) + bow_level
        return np.asarray(np.round(steps + self.travel_part(travel_m), 9), dtype=np.float64)

    def travel_part(self, travel_m: Floats) -> Floats:
        return travel_m / self.longest_travel_m if self.longest_travel_m > 0 else 0 * travel_m


class Bench:
    """One interaction, its targets, a plan of passes and a layout, with inverses remembered."""

    def __init__(
        self,
        interaction: Interaction,
        target_n: Floats,
        shares: Floats,
        layout: Layout,
        memory: SharedInverses | None = None,
    ) -> None:
        check_plan(interaction, target_n, shares, np.arange(interaction.jacks))
        check_layout(interaction, layout)
        if not (target_n > 0).all():
            raise InteractionError(
                "An order is judged by shares of the targets: give targets above 0 N."
            )
        self.interaction, self.target_n, self.shares, self.layout = (
            interaction,
            target_n,
            shares,
            layout,
        )
        self.memory = shared_inverses(interaction) if memory is None else memory
        apart = layout.positions_m[:, None, :] - layout.positions_m[None, :, :]
        self.hops_m = np.sqrt((apart**2).sum(axis=2))

    def judge(self, orders: Ints) -> Verdicts:
        parts = np.array_split(orders, -(-len(orders) // ORDERS_AT_A_TIME))
        return Verdicts.join([self._judge_part(part) for part in parts])

    def finish(self, ratchet: Ratchet, orders: Ints, bow_m: Floats, shares: Floats) -> Verdicts:
        """Pull the passes that are left and judge; `bow_m` (d,) is the largest bow so far."""
        targets = np.broadcast_to(self.target_n, orders.shape)
        for _ in ratchet.pulls(targets, shares, orders):
            bow_m = np.maximum(bow_m, self.bow_m(ratchet))
        share = self.interaction.jack_forces(ratchet.link_n) / self.target_n
        least = share.min(axis=1)
        return Verdicts(
            orders=orders,
            least_share=least,
            worst_loss=np.maximum(1 - least, 0.0),
            mean_loss=np.maximum(1 - share, 0.0).mean(axis=1),
            worst_gain=np.maximum(share.max(axis=1) - 1, 0.0),
            worst_bow_m=bow_m,
            final_bow_m=self.bow_m(ratchet),
            travel_m=travel_m(self.hops_m, orders, self.shares.size),
        )

    def bow_m(self, ratchet: Ratchet) -> Floats:
        """Largest bow at any point now (d,)."""
        bow = np.abs(ratchet.link_n @ self.layout.bow_m_per_n.T)
        return np.asarray(bow.max(axis=1, initial=0.0), dtype=np.float64)

    def yardstick(self, reference: Verdicts) -> Yardstick:
        jacks = self.interaction.jacks
        longest = float(self.hops_m.max()) * jacks * self.shares.size * (1 + NEAR)
        return Yardstick(BOW_STEP * float(reference.final_bow_m[0]), longest)

    def _judge_part(self, orders: Ints) -> Verdicts:
        self.memory.forget_if_large()
        ratchet = Ratchet(self.interaction, len(orders), inverses=self.memory)
        return self.finish(ratchet, orders, np.zeros(len(orders)), self.shares)


def judge(
    interaction: Interaction, target_n: Floats, shares: Floats, orders: Ints, layout: Layout
) -> Verdicts:
    """What each order (d, n) gives: shares (p,) of the targets (n,), from touch, exactly."""
    check_plan(interaction, target_n, shares, orders)
    return Bench(interaction, target_n, shares, layout).judge(orders)


def travel_m(hops_m: Floats, orders: Ints, passes: int) -> Floats:
    """Hand travel of each order: its hops once per pass, and back to the first between passes (d,)."""
    along = hops_m[orders[:, :-1], orders[:, 1:]].sum(axis=1)
    back = hops_m[orders[:, -1], orders[:, 0]]
    return np.asarray(passes * along + (passes - 1) * back, dtype=np.float64)


def check_layout(interaction: Interaction, layout: Layout) -> None:
    """Raise InteractionError unless the layout fits the jacks and links."""
    if layout.positions_m.shape != (interaction.jacks, 2):
        raise InteractionError(f"Give a position (x, y) for each of the {interaction.jacks} jacks.")
    if layout.bow_m_per_n.ndim != 2 or layout.bow_m_per_n.shape[1] != interaction.links:
        raise InteractionError(
            f"Give the bow per newton for each of the {interaction.links} links."
        )
    if not (np.isfinite(layout.positions_m).all() and np.isfinite(layout.bow_m_per_n).all()):
        raise InteractionError("Positions and bows must be finite numbers.")
