"""What the search stands on: the bound, the forecast, and inverses kept up to date."""

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.mechanics.sequence.bound import least_first, loss_bound, only_unloads
from api.mechanics.sequence.forecast import Forecast, carry_of_pairs
from api.mechanics.sequence.interaction import Interaction
from api.mechanics.sequence.inverses import OwnInverses, SharedInverses
from api.mechanics.sequence.judging import Layout, judge
from api.mechanics.sequence.linear import carry
from api.mechanics.sequence.passes import run_passes
from tests.mechanics.sequence_cases import (
    FLAT_M_PER_N,
    ROW_M_PER_N,
    chain,
    random_interaction,
    rows_sharing_stops,
    targets,
    unloading_interaction,
)

FEW = settings(max_examples=25, deadline=None)


def least_worst_loss(it: Interaction, shares: list[float], seed: int) -> float:
    orders = np.array(list(permutations(range(it.jacks))))
    layout = Layout(np.zeros((it.jacks, 2)), np.zeros((0, it.links)))
    verdicts = judge(it, targets(seed, it.jacks), np.array(shares), orders, layout)
    return float(verdicts.worst_loss.min())


@FEW
@given(
    st.integers(0, 2**32 - 1),
    st.sampled_from([0.1, 0.5, 2.0]),
    st.sampled_from([[1.0], [0.5, 1.0], [0.3, 0.7, 1.0]]),
)
def test_no_order_loses_less_than_the_bound(
    seed: int, strength: float, shares: list[float]
) -> None:
    it = unloading_interaction(seed, 4, strength)
    assert only_unloads(it)
    bound = loss_bound(it, targets(seed, 4), np.array(shares))
    assert 0 < bound <= least_worst_loss(it, shares, seed) + 1e-9


@FEW
@given(st.integers(0, 2**32 - 1), st.sampled_from([0.1, 0.5, 2.0]))
def test_the_bound_holds_for_jacks_with_two_links_too(seed: int, strength: float) -> None:
    single = unloading_interaction(seed, 8, strength)
    pairs = Interaction(single.own_m_per_n, single.coupling_m_per_n, np.tile(np.eye(4), (2, 1)))
    assert only_unloads(pairs)
    bound = loss_bound(pairs, targets(seed, 4), np.ones(1))
    assert 0 < bound <= least_worst_loss(pairs, [1.0], seed) + 1e-9


def test_the_bound_of_two_rows_is_the_loss_itself() -> None:
    rows = rows_sharing_stops(2, FLAT_M_PER_N)
    exact = FLAT_M_PER_N / (ROW_M_PER_N + FLAT_M_PER_N)
    assert loss_bound(rows, np.ones(2), np.ones(1)) == pytest.approx(exact, rel=1e-9)


def test_nothing_is_proved_where_a_jack_can_load_another_or_the_last_pass_is_not_the_highest() -> (
    None
):
    assert not only_unloads(chain(1.0))
    assert loss_bound(chain(1.0), np.ones(2), np.ones(1)) == 0.0
    assert loss_bound(random_interaction(1, 5, 5, 1.0), np.ones(5), np.ones(1)) == 0.0
    rows = rows_sharing_stops(3, FLAT_M_PER_N)
    assert loss_bound(rows, np.ones(3), np.array([1.0, 0.9])) == 0.0
    assert loss_bound(rows, np.ones(3), np.ones(2)) == 0.0


@FEW
@given(st.integers(0, 2**32 - 1), st.integers(1, 6))
def test_putting_the_least_sufferer_first_is_best_of_all_orders(seed: int, jacks: int) -> None:
    table = np.random.default_rng(seed).uniform(0, 1, (jacks, jacks))
    np.fill_diagonal(table, 0.0)
    order, worst = least_first(table)

    def suffered(way: tuple[int, ...]) -> float:
        return max(float(table[c, list(way[at + 1 :])].sum()) for at, c in enumerate(way))

    assert worst == pytest.approx(
        min(suffered(way) for way in permutations(range(jacks))), abs=1e-12
    )
    assert suffered(tuple(order.tolist())) == pytest.approx(worst, abs=1e-12)


@pytest.mark.parametrize("opening", [FLAT_M_PER_N, 3 * FLAT_M_PER_N])
def test_the_forecast_is_exact_where_all_couplings_are_alike(opening: float) -> None:
    rows, shares = rows_sharing_stops(4, opening), np.array([0.4, 1.0])
    target = np.array([1.0, 1.1, 0.9, 1.05])
    orders = np.array(list(permutations(range(4))))
    forecast = Forecast(rows, target, shares).losses(orders)
    for at, order in enumerate(orders):
        run = run_passes(rows, target, shares, order)
        assert (run.link_n > 0).all()
        assert forecast[at] == pytest.approx(1 - run.jack_n[-1] / target, abs=2e-6)


@pytest.mark.parametrize("strength", [0.05, 0.1])
def test_the_forecast_ranks_orders_much_as_the_exact_pulls_do(strength: float) -> None:
    it, target = random_interaction(12, 14, 10, strength), targets(5, 10) / 8 + 8000
    orders = np.array([np.random.default_rng(seed).permutation(10) for seed in range(200)])
    layout = Layout(np.zeros((10, 2)), np.zeros((0, 14)))
    exact = judge(it, target, np.ones(1), orders, layout).worst_loss
    forecast = Forecast(it, target, np.ones(1)).losses(orders).max(axis=1)
    assert np.corrcoef(exact, forecast)[0, 1] > 0.95


@pytest.mark.parametrize(
    "it", [chain(1.0), random_interaction(3, 7, 4, 1.0), rows_sharing_stops(3, 1e-9)]
)
def test_the_carry_of_pairs_is_the_carry_with_two_jacks_touching(it: Interaction) -> None:
    pairs = carry_of_pairs(it)
    for c in range(it.jacks):
        for k in range(it.jacks):
            touching = it.presses[:, [c, k]].sum(axis=1) > 0
            assert pairs[c, k] == pytest.approx(carry(it, touching)[c, k], rel=1e-10, abs=1e-12)


def test_inverses_kept_up_by_touching_and_parting_equal_direct_ones() -> None:
    it = random_interaction(9, 8, 8, 1.0)
    own, coupling = it.own_m_per_n * 1e8, it.coupling_m_per_n * 1e8
    scale = np.array([0.7, 1.0, 1.3, 2.0])
    shared, apart = SharedInverses(np.diag(own) + coupling), OwnInverses(own, coupling, scale)
    sets = np.zeros((4, 8), dtype=np.bool_)
    rows, own_rows = shared.rows_for(sets), apart.rows_for(sets)
    rng = np.random.default_rng(2)
    for _ in range(200):
        links = rng.integers(0, 8, 4)
        rows, own_rows = shared.toggle(rows, links), apart.toggle(own_rows, links)
        sets[np.arange(4), links] ^= True
    push = rng.normal(size=(4, 8))
    for run in range(4):
        at = np.flatnonzero(sets[run])
        for inverses, here, factor in ((shared, rows, 1.0), (apart, own_rows, scale[run])):
            matrix = (np.diag(own) + factor * coupling)[np.ix_(at, at)]
            direct = np.zeros(8)
            direct[at] = np.linalg.solve(matrix, push[run, at])
            assert inverses.times(here, push)[run] == pytest.approx(direct, rel=1e-9, abs=1e-12)
    assert len(shared) <= 256


def test_a_memory_of_inverses_that_begins_again_gives_the_same_ones() -> None:
    it = random_interaction(9, 60, 60, 0.1)
    shared = SharedInverses(it.compliance_m_per_n * 1e8)
    rng = np.random.default_rng(3)
    push, sets = rng.normal(size=(900, 60)), rng.uniform(size=(900, 60)) < 0.5
    first = shared.times(shared.rows_for(sets), push)
    shared.forget_if_large()
    assert len(shared) == 0
    assert shared.times(shared.rows_for(sets), push) == pytest.approx(first, rel=1e-9)
