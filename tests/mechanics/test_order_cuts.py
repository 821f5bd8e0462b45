"""The search over all orders cuts branches early; it must never cut the best one."""

from itertools import permutations

import numpy as np
import pytest

from api.mechanics.sequence.bound import loss_bound
from api.mechanics.sequence.interaction import Interaction, Ints
from api.mechanics.sequence.judging import Bench, Layout
from api.mechanics.sequence.searching import Everywhere, search
from tests.mechanics.sequence_cases import (
    random_interaction,
    rows_sharing_stops,
    targets,
    unloading_interaction,
)


def all_orders(jacks: int) -> Ints:
    return np.array(list(permutations(range(jacks))))


def bench_of(it: Interaction, seed: int, shares: list[float], points: int = 2) -> Bench:
    rng = np.random.default_rng(seed)
    layout = Layout(rng.uniform(0, 0.4, (it.jacks, 2)), rng.normal(0, 1e-9, (points, it.links)))
    return Bench(it, targets(seed, it.jacks) / 8 + 8000, np.array(shares), layout)


@pytest.mark.parametrize("shares", [[1.0], [1.0, 1.0, 1.0]])
@pytest.mark.parametrize(
    "it", [unloading_interaction(3, 6, 0.3), unloading_interaction(8, 6, 0.02)]
)
def test_cutting_branches_that_cannot_win_misses_no_better_order(
    it: Interaction, shares: list[float]
) -> None:
    bench = bench_of(it, 7, shares, points=3)
    best = search(bench)
    stick, every = bench.yardstick(best.rows), bench.judge(all_orders(6))
    assert stick.key(best.verdict)[0] == stick.key(every).min()


@pytest.mark.parametrize("strength", [0.0, 0.01, 0.03])
@pytest.mark.parametrize("seed", range(4))
def test_a_short_way_found_first_does_not_hide_an_order_with_less_loss_or_bow(
    seed: int, strength: float
) -> None:
    bench = bench_of(random_interaction(seed, 5, 5, strength), seed, [1.0])
    every = bench.judge(all_orders(5))
    shortest = every.pick(int(np.argmin(every.travel_m)))
    stick = bench.yardstick(shortest)
    floor = loss_bound(bench.interaction, bench.target_n, bench.shares)
    best = Everywhere(bench, stick, floor).best_from(shortest)
    assert stick.key(best)[0] == stick.key(every).min()


def test_branches_that_cannot_win_are_not_followed_to_their_end() -> None:
    lossy, idle = unloading_interaction(3, 6, 0.3), rows_sharing_stops(6, 1e-14)
    assert search(bench_of(lossy, 7, [1.0], points=0)).judged < 500
    assert search(bench_of(idle, 7, [1.0], points=0)).judged < 500
