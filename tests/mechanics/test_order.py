"""Order and number of passes: the search beside every order tried one by one."""

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.mechanics.sequence.interaction import Floats, Interaction, InteractionError, Ints
from api.mechanics.sequence.judging import Bench, Layout, Verdicts, judge
from api.mechanics.sequence.order import best_order, fewest_passes
from api.mechanics.sequence.passes import run_passes
from api.mechanics.sequence.routes import (
    back_and_forth,
    farthest_next,
    first_guesses,
    nearest_next,
    row_by_row,
)
from api.mechanics.sequence.searching import Nearby, search, small_moves
from tests.mechanics.sequence_cases import (
    FLAT_M_PER_N,
    FREE_M_PER_N,
    random_interaction,
    rows_sharing_stops,
    targets,
    unloading_interaction,
)

ONE = np.ones(1)


def all_orders(jacks: int) -> Ints:
    return np.array(list(permutations(range(jacks))))


def layout_for(it: Interaction, seed: int = 0, points: int = 3) -> Layout:
    rng = np.random.default_rng(seed)
    return Layout(rng.uniform(0, 0.4, (it.jacks, 2)), rng.normal(0, 1e-9, (points, it.links)))


def in_line(jacks: int, links: int) -> Layout:
    along = np.arange(jacks) * 0.05
    return Layout(np.stack([along, np.zeros(jacks)], axis=1), np.zeros((0, links)))


def by_hand(
    it: Interaction, target: Floats, shares: Floats, order: Ints, layout: Layout
) -> tuple[float, ...]:
    """Worst loss, mean loss, worst and final bow and travel of one order, from a single run."""
    run = run_passes(it, target, shares, order)
    loss = np.maximum(1 - run.jack_n[-1] / target, 0)
    bow = np.abs(run.pull_link_n @ layout.bow_m_per_n.T)
    stops = np.tile(layout.positions_m[order], (shares.size, 1))
    travel = np.linalg.norm(np.diff(stops, axis=0), axis=1).sum()
    return (
        float(loss.max()),
        float(loss.mean()),
        float(bow.max()),
        float(bow[-1, -1].max()),
        float(travel),
    )


def ranking(effect: tuple[float, ...], bow_step: float) -> tuple[float, ...]:
    loss, mean, bow, final, travel = effect
    steps = np.floor(np.array([loss / 0.01, mean / 0.01, max(bow - final, 0) / bow_step]) + 1e-9)
    return (*steps.tolist(), round(travel, 8))


@pytest.mark.parametrize("shares", [[1.0], [0.5, 1.0], [1.0, 1.0]])
@pytest.mark.parametrize(
    "it",
    [
        unloading_interaction(3, 4, 0.3),
        unloading_interaction(4, 4, 3.0),
        random_interaction(5, 7, 4, 1.0),
        rows_sharing_stops(4, FREE_M_PER_N),
    ],
)
def test_the_search_over_few_jacks_is_as_good_as_pulling_every_order(
    it: Interaction, shares: list[float]
) -> None:
    target, layout, passes = targets(7, 4) / 8 + 8000, layout_for(it), np.array(shares)
    found = best_order(it, target, passes, layout)
    bow_step = 0.02 * found.rows.final_bow_m
    tried = [
        ranking(by_hand(it, target, passes, order, layout), bow_step) for order in all_orders(4)
    ]
    assert ranking(by_hand(it, target, passes, found.order, layout), bow_step) == min(tried)
    assert found.exact
    assert found.effect.worst_loss >= found.loss_bound


def test_a_verdict_is_what_a_single_run_of_that_order_gives() -> None:
    it, shares = random_interaction(6, 9, 6, 2.0), np.array([0.6, 1.0])
    target, layout = targets(1, 6), layout_for(it)
    orders = np.array([np.random.default_rng(seed).permutation(6) for seed in range(40)])
    verdicts = judge(it, target, shares, orders, layout)
    for at, order in enumerate(orders):
        loss, mean, bow, final, travel = by_hand(it, target, shares, order, layout)
        share = run_passes(it, target, shares, order).jack_n[-1] / target
        assert verdicts.worst_loss[at] == pytest.approx(loss, abs=1e-9)
        assert verdicts.mean_loss[at] == pytest.approx(mean, abs=1e-9)
        assert verdicts.least_share[at] == pytest.approx(share.min(), abs=1e-9)
        assert verdicts.worst_gain[at] == pytest.approx(max(share.max() - 1, 0), abs=1e-9)
        assert verdicts.worst_bow_m[at] == pytest.approx(bow, rel=1e-9)
        assert verdicts.final_bow_m[at] == pytest.approx(final, rel=1e-9)
        assert verdicts.travel_m[at] == pytest.approx(travel, rel=1e-9)


def test_where_every_order_loses_the_same_the_hand_travels_least() -> None:
    it = rows_sharing_stops(6, FLAT_M_PER_N)
    layout = Layout(layout_for(it, 4).positions_m, np.zeros((0, 6)))
    found = best_order(it, np.full(6, 9000.0), ONE, layout)
    hops = np.linalg.norm(np.diff(layout.positions_m[all_orders(6)], axis=1), axis=2).sum(axis=1)
    assert found.effect.travel_m == pytest.approx(hops.min(), rel=1e-12)
    assert found.rows.worst_loss == pytest.approx(found.effect.worst_loss, rel=1e-9)


def test_without_coupling_the_order_keeps_bows_that_cancel_from_piling_up() -> None:
    apart = Interaction(np.full(4, 1e-8), np.zeros((4, 4)), np.eye(4))
    bow = np.array([[1.0, 1.0, -1.0, -0.9]]) * 1e-9
    layout = Layout(in_line(4, 4).positions_m, bow)
    found = best_order(apart, np.full(4, 1e4), ONE, layout)
    assert found.rows.worst_bow_m == pytest.approx(20e-6)
    every = judge(apart, np.full(4, 1e4), ONE, all_orders(4), layout)
    assert found.effect.worst_bow_m == pytest.approx(float(every.worst_bow_m.min()), rel=1e-9)
    assert found.effect.worst_bow_m == pytest.approx(9e-6)
    assert found.effect.worst_loss == 0.0


def nearby(bench: Bench, effort: float = 1.0) -> Verdicts:
    guesses = bench.judge(
        first_guesses(bench.interaction, bench.target_n, bench.layout.positions_m)
    )
    return Nearby(bench, bench.yardstick(guesses.pick(0)), effort, 0).best_from(guesses.pick(0))


@pytest.mark.parametrize("seed", [1, 3, 4])
def test_the_local_search_comes_within_two_percent_of_the_best_of_all_orders(seed: int) -> None:
    it = random_interaction(seed, 7, 7, 1.0)
    bench = Bench(it, targets(seed, 7) / 8 + 8000, ONE, layout_for(it, seed))
    exact, near = search(bench), nearby(bench)
    assert exact.exact
    assert exact.verdict.worst_loss[0] < exact.rows.worst_loss[0] - 0.05
    assert near.worst_loss[0] <= exact.verdict.worst_loss[0] + 0.02


def plate_of(rows: int, columns: int) -> tuple[Interaction, Layout]:
    x, y = np.meshgrid(np.arange(columns) * 0.06, np.arange(rows) * 0.08)
    positions = np.stack([x.ravel(), y.ravel()], axis=1)
    apart = np.linalg.norm(positions[:, None] - positions[None], axis=2)
    coupling = 6e-10 * np.exp(-2 * apart)
    bow = 1e-9 * np.exp(-5 * apart[:: columns + 1])
    jacks = rows * columns
    return Interaction(np.full(jacks, 1e-8), coupling, np.eye(jacks)), Layout(positions, bow)


def test_twenty_four_jacks_lose_less_and_travel_less_than_row_by_row() -> None:
    it, layout = plate_of(4, 6)
    found = best_order(it, targets(3, 24) / 12 + 8000, ONE, layout)
    assert sorted(found.order.tolist()) == list(range(24))
    assert not found.exact
    assert found.loss_bound <= found.effect.worst_loss
    assert found.rows.worst_loss - found.effect.worst_loss > 0.02
    assert found.rows.travel_m - found.effect.travel_m > 0
    assert found.pulls == 24


def test_the_same_input_gives_the_same_order() -> None:
    it, layout = plate_of(3, 4)
    one, two = (best_order(it, targets(3, 12), np.ones(2), layout) for _ in range(2))
    assert np.array_equal(one.order, two.order)
    assert one.effect == two.effect


def test_more_effort_never_ends_worse() -> None:
    it, layout = plate_of(3, 4)
    bench = Bench(it, targets(3, 12), ONE, layout)
    little, much = (search(bench, effort=effort) for effort in (0.1, 3.0))
    stick = bench.yardstick(little.rows)
    assert stick.key(much.verdict)[0] <= stick.key(little.verdict)[0] <= stick.key(little.rows)[0]


def test_rows_held_flat_need_a_second_pass_and_the_first_is_told() -> None:
    it = rows_sharing_stops(5, FLAT_M_PER_N)
    plan = fewest_passes(it, np.ones(5), in_line(5, 5))
    assert plan.enough
    assert plan.found.shares.tolist() == [1.0, 1.0]
    assert plan.found.pulls == 10
    assert plan.by_passes[0].effect.least_share == pytest.approx(0.7835384890884203, rel=1e-9)
    assert plan.found.effect.least_share == pytest.approx(0.9803272311209474, rel=1e-9)


def test_rows_on_a_free_plate_are_told_what_the_most_passes_reach() -> None:
    it = rows_sharing_stops(5, FREE_M_PER_N)
    plan = fewest_passes(it, np.ones(5), in_line(5, 5), plans=((1.0,), (1.0, 1.0)))
    assert not plan.enough
    assert [len(found.shares) for found in plan.by_passes] == [1, 2]
    assert plan.by_passes[0].effect.least_share == 0.0
    assert plan.found is plan.by_passes[1]
    assert 0.4 < plan.found.effect.least_share < 0.9


def test_the_fewest_passes_of_many_jacks_come_with_the_best_order_found_for_them() -> None:
    it, layout = plate_of(3, 4)
    plan = fewest_passes(it, targets(3, 12) / 12 + 8000, layout)
    assert plan.enough
    assert 1 < len(plan.by_passes) == len(plan.found.shares)
    again = best_order(it, targets(3, 12) / 12 + 8000, plan.found.shares, layout)
    assert again.effect == plan.found.effect
    assert again.judged == plan.found.judged


def test_jacks_that_do_not_touch_each_other_need_one_pass() -> None:
    apart = Interaction(np.full(4, 1e-8), np.zeros((4, 4)), np.eye(4))
    plan = fewest_passes(apart, np.full(4, 5e3), in_line(4, 4))
    assert plan.found.shares.tolist() == [1.0]
    assert plan.found.effect.least_share == pytest.approx(1.0, rel=1e-12)


def test_each_further_full_pass_leaves_the_lowest_jack_with_more() -> None:
    rows = rows_sharing_stops(5, FLAT_M_PER_N)
    shares = run_passes(rows, np.full(5, 700.0), np.ones(3), np.arange(5)).jack_n / 700.0
    assert shares.shape == (3, 5)
    assert shares[:2, 0] == pytest.approx([0.7835384890884203, 0.9803272311209474], rel=1e-9)
    assert (np.diff(shares.min(axis=1)) > 0).all()


def test_row_by_row_goes_up_in_y_then_in_x_and_forgives_a_little_crookedness() -> None:
    crooked = np.array(
        [[0.2, 0.101], [0.0, 0.1], [0.1, 0.002], [0.0, 0.0], [0.1, 0.099], [0.2, 0.0]]
    )
    assert row_by_row(crooked).tolist() == [3, 2, 5, 1, 4, 0]
    assert back_and_forth(crooked).tolist() == [3, 2, 5, 0, 4, 1]


def test_the_next_jack_is_the_nearest_or_the_farthest_from_all_before() -> None:
    along = np.array([[0.0, 0.0], [0.1, 0.0], [0.3, 0.0], [0.7, 0.0]])
    assert nearest_next(along, 2).tolist() == [2, 1, 0, 3]
    assert farthest_next(along, 0).tolist() == [0, 3, 2, 1]


@settings(max_examples=30, deadline=None)
@given(st.integers(1, 12), st.integers(0, 2**32 - 1))
def test_first_guesses_are_whole_orders_and_begin_with_row_by_row(jacks: int, seed: int) -> None:
    it = unloading_interaction(seed, jacks, 0.3)
    positions = layout_for(it, seed).positions_m
    guesses = first_guesses(it, np.ones(jacks), positions)
    assert np.array_equal(guesses[0], row_by_row(positions))
    assert (np.sort(guesses, axis=1) == np.arange(jacks)).all()
    assert len(np.unique(guesses, axis=0)) == len(guesses)


def test_small_moves_hold_every_shift_exchange_and_reversal_once() -> None:
    moves = {tuple(move) for move in small_moves(4).tolist()}
    assert len(moves) == len(small_moves(4))
    assert {(1, 2, 3, 0), (3, 0, 1, 2), (3, 1, 2, 0), (3, 2, 1, 0), (0, 2, 1, 3)} <= moves
    assert (0, 1, 2, 3) not in moves


@pytest.mark.parametrize(
    ("target", "layout", "says"),
    [
        (np.array([1.0, 0.0]), in_line(2, 2), "targets above 0"),
        (np.ones(2), in_line(3, 2), "position"),
        (np.ones(2), in_line(2, 3), "each of the 2 links"),
        (np.ones(2), Layout(np.array([[0, np.nan], [0, 1]]), np.zeros((0, 2))), "finite"),
    ],
)
def test_what_cannot_be_judged_is_refused(target: Floats, layout: Layout, says: str) -> None:
    with pytest.raises(InteractionError, match=says):
        best_order(rows_sharing_stops(2, FLAT_M_PER_N), target, ONE, layout)


def test_no_plan_at_all_is_refused() -> None:
    with pytest.raises(InteractionError, match="at least one plan"):
        fewest_passes(rows_sharing_stops(2, FLAT_M_PER_N), np.ones(2), in_line(2, 2), plans=())
