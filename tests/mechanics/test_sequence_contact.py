"""Links that part: complementarity, Gauss-Seidel, the ratchet, and batches."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import nnls

from api.mechanics.sequence.contact import solve_contact
from api.mechanics.sequence.interaction import Floats, Interaction
from api.mechanics.sequence.passes import after_change_batch, run_batch, run_passes
from tests.mechanics.sequence_cases import (
    FREE_M_PER_N,
    ROW_M_PER_N,
    problems,
    random_interaction,
    rows_sharing_stops,
    targets,
    unloading_interaction,
)

Problem = tuple[Interaction, Floats]
FEW = settings(max_examples=60, deadline=None)


def assert_complementary(it: Interaction, link_n: Floats, spread_m: Floats) -> None:
    push = it.presses @ spread_m - it.gap_m
    gap = it.compliance_m_per_n @ link_n - push
    length = max(float(np.abs(push).max()), 1e-12)
    force = length / float(it.own_m_per_n.min())
    assert np.isfinite(link_n).all()
    assert link_n.min() >= 0
    assert gap.min() >= -1e-9 * length
    assert float(np.abs(link_n * gap).max()) <= 1e-9 * length * force


@FEW
@given(problems(), st.integers(0, 2**32 - 1))
def test_forces_and_gaps_are_never_negative_and_never_both(problem: Problem, seed: int) -> None:
    it, _ = problem
    rng = np.random.default_rng(seed)
    it = replace(it, gap_m=rng.uniform(-5e-5, 5e-5, it.links))
    spread = rng.uniform(-1e-4, 3e-4, it.jacks)
    found = solve_contact(it, spread)
    assert_complementary(it, found.link_n, spread)
    assert found.gap_m.min() >= 0
    assert not (found.link_n * found.gap_m).any()


@FEW
@given(problems(), st.integers(0, 2**32 - 1))
def test_pivoting_finds_the_least_energy_as_a_least_squares_solver_does(
    problem: Problem, seed: int
) -> None:
    it, _ = problem
    spread = np.random.default_rng(seed).uniform(-1e-4, 3e-4, it.jacks)
    lower = np.linalg.cholesky(it.compliance_m_per_n * 1e8)
    push = it.presses @ spread * 1e8
    least, _ = nnls(lower.T, np.linalg.solve(lower, push))
    assert solve_contact(it, spread).link_n == pytest.approx(least, rel=1e-7, abs=1e-5)


def test_the_first_guess_of_touching_links_does_not_change_the_answer() -> None:
    it = random_interaction(11, 12, 8, 20.0)
    spread = np.random.default_rng(5).uniform(-1e-4, 3e-4, 8)
    found = solve_contact(it, spread)
    assert 0 < found.touching.sum() < 12
    for guess in (np.ones(12, dtype=np.bool_), np.zeros(12, dtype=np.bool_), ~found.touching):
        assert solve_contact(it, spread, guess).link_n == pytest.approx(found.link_n, rel=1e-9)


@FEW
@given(problems(), st.integers(0, 1000))
def test_every_pull_ends_complementary_at_or_above_what_is_set(problem: Problem, seed: int) -> None:
    it, target = problem
    order = np.random.default_rng(seed).permutation(it.jacks)
    shares = np.array([0.4, 1.0])
    run = run_passes(it, target, shares, order)
    assert_complementary(it, run.link_n[-1], run.spread_m)
    assert solve_contact(it, run.spread_m).link_n == pytest.approx(
        run.link_n[-1], rel=1e-8, abs=1e-5
    )
    for pass_index, share in enumerate(shares):
        for place, jack in enumerate(order):
            goal, before = share * target[jack], run.before_n[pass_index, jack]
            after = run.pull_jack_n[pass_index, place, jack]
            assert after == pytest.approx(max(goal, before), rel=1e-9)
            assert (run.turned_m[pass_index, jack] > 0) == (before < goal * (1 - 1e-12))


def test_one_pass_with_every_link_touching_is_one_gauss_seidel_sweep() -> None:
    it, target = unloading_interaction(2, 6, 0.1), targets(3, 6)
    order = np.array([5, 2, 0, 3, 1, 4])
    first = run_passes(it, 0.6 * target, np.ones(1), order)
    run = run_passes(it, target, np.ones(2), order, start_m=first.spread_m)
    assert run.pull_touching.all()
    response = (it.mean @ it.stiffness_n_per_m @ it.presses)[np.ix_(order, order)]
    lower, upper = np.tril(response), np.triu(response, 1)
    spread = first.spread_m[order]
    for pass_index in range(2):
        spread = np.linalg.solve(lower, target[order] - upper @ spread)
        assert run.jack_n[pass_index, order] == pytest.approx(response @ spread, rel=1e-10)
    assert run.spread_m[order] == pytest.approx(spread, rel=1e-10)


@FEW
@given(st.integers(0, 2**32 - 1), st.integers(2, 7), st.sampled_from([0.1, 0.5, 1.5]))
def test_repeated_passes_converge_to_the_targets_where_jacks_only_unload(
    seed: int, jacks: int, strength: float
) -> None:
    it, target = unloading_interaction(seed, jacks, strength), targets(seed + 1, jacks)
    run = run_passes(it, target, np.ones(60), np.arange(jacks))
    least = (run.jack_n / target).min(axis=1)
    assert least[-1] == pytest.approx(1.0, abs=1e-6)
    assert (np.diff(least) >= -1e-9).all()
    assert run.jack_n.max(axis=0) == pytest.approx(target, rel=1e-6)


@FEW
@given(problems(), st.floats(1.0, 3.0))
def test_a_jack_set_higher_never_ends_its_own_pull_with_less(
    problem: Problem, factor: float
) -> None:
    it, target = problem
    order = np.arange(it.jacks)
    more = target.copy()
    more[-1] *= factor
    low, high = (run_passes(it, t, np.ones(1), order) for t in (target, more))
    assert high.jack_n[0, -1] >= low.jack_n[0, -1] * (1 - 1e-9)
    assert (high.spread_m - low.spread_m).min() >= -1e-12


def test_scaling_all_targets_scales_all_forces() -> None:
    it, target = random_interaction(21, 9, 6, 2.0), targets(2, 6)
    one, three = (
        run_passes(it, k * target, np.array([0.5, 1.0]), np.arange(6)) for k in (1.0, 3.0)
    )
    assert three.link_n == pytest.approx(3 * one.link_n, rel=1e-9, abs=1e-6)


def test_a_jack_starts_where_an_earlier_one_left_its_gap() -> None:
    rows = rows_sharing_stops(2, FREE_M_PER_N)
    run = run_passes(rows, np.ones(2), np.ones(1), np.arange(2))
    assert run.pull_link_n[0, 0] == pytest.approx([1.0, 0.0])
    assert run.turned_m[0, 0] == pytest.approx(ROW_M_PER_N + FREE_M_PER_N, rel=1e-12)
    own_and_gaps = ROW_M_PER_N + FREE_M_PER_N * run.link_n[0].sum()
    assert run.turned_m[0, 1] == pytest.approx(own_and_gaps, rel=1e-12)


def test_a_gap_that_presses_before_any_jack_is_turned_counts_from_the_start() -> None:
    it = replace(random_interaction(4, 6, 4, 0.5), gap_m=np.array([-4e-5, 0, 0, 2e-5, 0, -1e-5]))
    run = run_passes(it, np.full(4, 1000.0), np.ones(1), np.arange(4))
    assert run.before_n[0, 0] == pytest.approx(
        float(it.jack_forces(solve_contact(it, np.zeros(4)).link_n)[0]), rel=1e-9
    )
    assert_complementary(it, run.link_n[-1], run.spread_m)


@pytest.mark.parametrize("strength", [0.2, 4.0])
@pytest.mark.parametrize("scaled", [False, True])
def test_a_batch_of_draws_equals_the_runs_one_by_one(strength: float, scaled: bool) -> None:
    it, shares = random_interaction(31, 11, 8, strength), np.array([0.5, 1.0, 1.0])
    rng = np.random.default_rng(9)
    drawn, order = rng.uniform(5e3, 15e3, (30, 8)), rng.permutation(8)
    scale = rng.uniform(0.7, 1.3, 30) if scaled else None
    runs = run_batch(it, drawn, shares, order, scale=scale)
    for draw in range(30):
        one = it if scale is None else scaled_coupling(it, float(scale[draw]))
        run = run_passes(one, drawn[draw], shares, order)
        assert runs.link_n[draw] == pytest.approx(run.link_n, rel=1e-8, abs=1e-5)
        assert runs.jack_n[draw] == pytest.approx(run.jack_n, rel=1e-8, abs=1e-5)
        assert runs.before_n[draw] == pytest.approx(run.before_n, rel=1e-8, abs=1e-5)
        assert runs.spread_m[draw] == pytest.approx(run.spread_m, rel=1e-8)
        assert np.array_equal(runs.would_move[draw], run.would_move)


def test_the_batch_cases_reach_links_that_part_and_links_that_all_touch() -> None:
    drawn = np.random.default_rng(9).uniform(5e3, 15e3, (30, 8))
    weak, strong = (
        run_batch(random_interaction(31, 11, 8, k), drawn, np.ones(1), np.arange(8))
        for k in (0.2, 4.0)
    )
    assert (weak.link_n[:, -1] > 0).all()
    assert (strong.link_n[:, -1] == 0).any()


def test_a_batch_goes_on_from_given_spreads_and_through_a_change_of_state() -> None:
    free, flat = random_interaction(41, 9, 6, 3.0), random_interaction(41, 9, 6, 0.3)
    rng = np.random.default_rng(1)
    drawn, scale = rng.uniform(5e3, 15e3, (12, 6)), rng.uniform(0.8, 1.2, 12)
    runs = run_batch(free, drawn, np.ones(1), np.arange(6), scale=scale)
    locked = after_change_batch(flat, runs.spread_m, scale)
    again = run_batch(flat, drawn, np.ones(1), np.arange(6), scale=scale, start_m=runs.spread_m)
    for draw in range(12):
        one = scaled_coupling(flat, float(scale[draw]))
        assert locked[draw] == pytest.approx(
            solve_contact(one, runs.spread_m[draw]).link_n, rel=1e-9, abs=1e-6
        )
        run = run_passes(one, drawn[draw], np.ones(1), np.arange(6), start_m=runs.spread_m[draw])
        assert again.link_n[draw] == pytest.approx(run.link_n, rel=1e-8, abs=1e-5)


def scaled_coupling(it: Interaction, factor: float) -> Interaction:
    return Interaction(it.own_m_per_n, factor * it.coupling_m_per_n, it.presses, it.gap_m)
