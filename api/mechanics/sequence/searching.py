"""Search over orders on one bench: all of them for few jacks, by improvement for many.

Every order of up to `EXACT_JACKS` jacks is tried as a tree of first passes, so that orders with a
common beginning share its pulls. A branch is cut where it provably cannot win: its jacks already
lost more than the best order does and later pulls only take (single pass, jacks that only unload), or
the best order is at the proven floor in loss and bow and the branch already travels farther.

More jacks: local search over moves of one jack, exchanges of two and reversals of a stretch. A quick
forecast ranks the neighbours and those it likes best are judged exactly; when none is better the search
goes on a few random moves away, until its budget is spent. The budget is counted in pulls, not seconds,
and the seed is fixed: the same input gives the same order everywhere.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import factorial

import numpy as np

from api.mechanics.sequence.bound import loss_bound, only_unloads
from api.mechanics.sequence.forecast import Forecast
from api.mechanics.sequence.interaction import Bools, Floats, Ints
from api.mechanics.sequence.judging import Bench, Verdicts, Yardstick, travel_m
from api.mechanics.sequence.ratchet import Ratchet
from api.mechanics.sequence.routes import first_guesses

EXACT_JACKS = 8
ENDS_AT_A_TIME = 1024
JUDGED_PULLS = 300  # pulls of a batch judged exactly by the local search at full effort
SAMPLE = 48  # orders judged exactly at a time
FORECAST_WORK = 250_000  # neighbours forecast at a time, times jacks squared
SLIDES = 20
KICKS = 3


@dataclass(frozen=True, eq=False)
class Best:
    """The best order found, and how the search went."""

    verdict: Verdicts  # of one order
    rows: Verdicts  # of row by row
    exact: bool
    loss_bound: float
    judged: int


def begin(bench: Bench) -> Best:
    """The best of the first guesses, judged exactly."""
    guesses = bench.judge(
        first_guesses(bench.interaction, bench.target_n, bench.layout.positions_m)
    )
    rows = guesses.pick(0)
    best = guesses.pick(int(np.argmin(bench.yardstick(rows).key(guesses))))
    floor = loss_bound(bench.interaction, bench.target_n, bench.shares)
    return Best(
        best,
        rows,
        len(guesses.orders) == factorial(bench.target_n.size),
        floor,
        len(guesses.orders),
    )


def search(bench: Bench, begun: Best | None = None, *, effort: float = 1.0, seed: int = 0) -> Best:
    """Best order for the bench's plan, on from what is `begun`; `effort` scales the local search."""
    start = begin(bench) if begun is None else begun
    stick = bench.yardstick(start.rows)
    exact = bench.interaction.jacks <= EXACT_JACKS
    hunt = (
        Everywhere(bench, stick, start.loss_bound) if exact else Nearby(bench, stick, effort, seed)
    )
    best = hunt.best_from(start.verdict)
    return Best(best, start.rows, exact, start.loss_bound, start.judged + hunt.judged)


@dataclass(frozen=True, eq=False)
class _Branches:
    """Beginnings of first passes, all as long."""

    ratchet: Ratchet
    orders: Ints  # (d, length)
    bow_m: Floats  # (d,) largest bow so far

    def only(self, at: Ints) -> _Branches:
        return _Branches(self.ratchet.fork(at), self.orders[at], self.bow_m[at])

    def parts(self) -> list[_Branches]:
        pieces = np.array_split(np.arange(len(self.orders)), -(-len(self.orders) // ENDS_AT_A_TIME))
        return [self.only(at) for at in pieces]


class Everywhere:
    """All orders, but for branches that cannot win."""

    def __init__(self, bench: Bench, stick: Yardstick, floor: float) -> None:
        self._bench, self._stick = bench, stick
        self._floor = float(stick.loss_level(np.array([floor]))[0])
        self._takes = bench.shares.size == 1 and only_unloads(bench.interaction)
        self.judged = 0

    def best_from(self, best: Verdicts) -> Verdicts:
        root = Ratchet(self._bench.interaction, 1, inverses=self._bench.memory)
        open_ends = [_Branches(root, np.zeros((1, 0), dtype=np.int64), np.zeros(1))]
        while open_ends:
            ends = self._cut(open_ends.pop(), best)
            if not len(ends.orders):
                continue
            if ends.orders.shape[1] < self._bench.interaction.jacks:
                open_ends += self._longer(ends).parts()
            else:
                best = _better(self._stick, best, self._finish(ends))
        return best

    def _longer(self, ends: _Branches) -> _Branches:
        """All orders one jack longer, that jack pulled to its share of the first pass."""
        bench = self._bench
        orders, parents = _children(ends.orders, bench.interaction.jacks)
        ratchet = ends.ratchet.fork(parents)
        ratchet.pull(orders[:, -1], bench.shares[0] * bench.target_n[orders[:, -1]])
        return _Branches(ratchet, orders, np.maximum(ends.bow_m[parents], bench.bow_m(ratchet)))

    def _finish(self, ends: _Branches) -> Verdicts:
        self.judged += len(ends.orders)
        ends.ratchet.refresh()
        return self._bench.finish(ends.ratchet, ends.orders, ends.bow_m, self._bench.shares[1:])

    def _cut(self, ends: _Branches, best: Verdicts) -> _Branches:
        if ends.orders.shape[1] == 0:
            return ends
        return ends.only(np.flatnonzero(self._may_win(ends.ratchet, ends.orders, best)))

    def _may_win(self, ratchet: Ratchet, orders: Ints, best: Verdicts) -> Bools:
        may = np.ones(len(orders), dtype=np.bool_)
        level = float(self._stick.loss_level(best.worst_loss)[0])
        if self._takes:
            may &= self._stick.loss_level(self._lost(ratchet, orders)) <= level
        if level <= self._floor and self._only_travel_left(best):
            may &= travel_m(self._bench.hops_m, orders, 1) * self._bench.shares.size < best.travel_m
        return may

    def _only_travel_left(self, best: Verdicts) -> bool:
        steps = self._stick.loss_level(best.mean_loss) + self._stick.bow_level(best)
        return not steps.any()

    def _lost(self, ratchet: Ratchet, orders: Ints) -> Floats:
        share = self._bench.interaction.jack_forces(ratchet.link_n) / self._bench.target_n
        return np.asarray(
            1 - np.take_along_axis(share, orders, axis=1).min(axis=1), dtype=np.float64
        )


class Nearby:
    """Improvement by small moves: those that the forecast likes best are judged exactly."""

    def __init__(self, bench: Bench, stick: Yardstick, effort: float, seed: int) -> None:
        jacks = bench.interaction.jacks
        self._bench, self._stick = bench, stick
        self._forecast = Forecast(bench.interaction, bench.target_n, bench.shares)
        self._rng = np.random.default_rng(seed)
        self._moves = small_moves(jacks)
        self._forecasts = max(SAMPLE, int(FORECAST_WORK / jacks**2))
        self._tries = max(2, round(effort * JUDGED_PULLS / (jacks * bench.shares.size)))
        self.judged = 0

    def best_from(self, best: Verdicts) -> Verdicts:
        best = _better(self._stick, best, self._judge(self._slide(best.orders[0])))
        while self._tries > 0:
            better = self._improve(best)
            best = self._elsewhere(best) if better is best else better
        return best

    def _improve(self, here: Verdicts) -> Verdicts:
        """The best of the neighbours that look best, or `here` again if none is better."""
        near = self._neighbours(here.orders[0])[0]
        return _better(self._stick, here, self._judge(near[:SAMPLE]))

    def _elsewhere(self, best: Verdicts) -> Verdicts:
        """Slide down from a few random moves away; the better of that and `best`."""
        order = best.orders[0]
        for move in self._rng.choice(len(self._moves), KICKS):
            order = order[self._moves[move]]
        return _better(self._stick, best, self._judge(self._slide(order)))

    def _slide(self, order: Ints) -> Ints:
        """Neighbours of where the forecast alone leads from `order`, best first (d, n)."""
        present = self._keys(order[None, :])[0]
        for _ in range(SLIDES):
            near, keys = self._neighbours(order)
            if keys[0] >= present:
                break
            order, present = near[0], keys[0]
        return np.concatenate([order[None, :], near[: SAMPLE - 1]])

    def _neighbours(self, order: Ints) -> tuple[Ints, Floats]:
        """A sample of the orders one move away, the best forecast first, and their forecast keys."""
        chosen = self._rng.permutation(len(self._moves))[: self._forecasts]
        near = order[self._moves[chosen]]
        keys = self._keys(near)
        first = np.argsort(keys, kind="stable")
        return near[first], keys[first]

    def _keys(self, orders: Ints) -> Floats:
        losses = self._forecast.losses(orders)
        travel = travel_m(self._bench.hops_m, orders, self._bench.shares.size)
        return self._stick.rank(
            losses.max(axis=1), losses.mean(axis=1), np.zeros(len(orders)), travel
        )

    def _judge(self, orders: Ints) -> Verdicts:
        self.judged += len(orders)
        self._tries -= 1
        return self._bench.judge(orders)


def small_moves(jacks: int) -> Ints:
    """Permutations of places: one jack elsewhere, two exchanged, a stretch reversed (q, n)."""
    place = np.arange(jacks)
    a, b = (axis.ravel()[:, None] for axis in np.meshgrid(place, place, indexing="ij"))
    between = (np.minimum(a, b) <= place) & (place <= np.maximum(a, b))
    shifted = np.where(place == b, a, np.where(between, place + np.sign(b - a), place))
    exchanged = np.where(place == a, b, np.where(place == b, a, place))
    turned = np.where(between, a + b - place, place)
    moves = np.unique(np.concatenate([shifted, exchanged, turned]), axis=0)
    return np.asarray(moves[(moves != place).any(axis=1)], dtype=np.int64)


def _better(stick: Yardstick, present: Verdicts, found: Verdicts) -> Verdicts:
    keys = stick.key(found)
    at = int(np.argmin(keys))
    return found.pick(at) if keys[at] < stick.key(present)[0] else present


def _children(orders: Ints, jacks: int) -> tuple[Ints, Ints]:
    """Every order one jack longer, and which order each came from."""
    left = np.ones((len(orders), jacks), dtype=np.bool_)
    np.put_along_axis(left, orders, False, axis=1)
    parents, following = np.nonzero(left)
    return np.concatenate([orders[parents], following[:, None]], axis=1), parents
