"""Interaction of jacks: worked values, linear response, and what cannot be."""

from dataclasses import replace

import numpy as np
import pytest

from api.mechanics.sequence.contact import solve_contact
from api.mechanics.sequence.interaction import Interaction, InteractionError
from api.mechanics.sequence.linear import carry, link_carry, step
from api.mechanics.sequence.passes import after_change, recheck, run_passes
from tests.mechanics.forms.interaction import compensated_targets, interaction_matrix
from tests.mechanics.sequence_cases import (
    FLAT_M_PER_N,
    FREE_M_PER_N,
    ROW_M_PER_N,
    chain,
    random_interaction,
    rows_sharing_stops,
    single_links,
    targets,
    three_bolts,
    unloading_interaction,
)

ONE = np.ones(1)
TEN_KN = 10_000.0


def test_the_second_of_two_bolts_takes_from_the_first_by_d_over_b_plus_c() -> None:
    bolts = single_links([1.5, 1.5], [[1.0, 0.4], [0.4, 1.0]])
    run = run_passes(bolts, np.full(2, TEN_KN), ONE, np.arange(2))
    assert run.jack_n[0] == pytest.approx([8400.0, TEN_KN], rel=1e-12)
    assert carry(bolts)[0, 1] == pytest.approx(-0.16, rel=1e-12)


def test_a_first_bolt_started_higher_ends_at_its_target() -> None:
    bolts = single_links([1.5, 1.5], [[1.0, 0.4], [0.4, 1.0]])
    set_to = compensated_targets(bolts, np.arange(2), np.full(2, TEN_KN))
    assert set_to == pytest.approx([11_600.0, TEN_KN], rel=1e-12)


def test_three_bolts_over_two_passes_end_at_the_worked_forces() -> None:
    run = run_passes(three_bolts(), np.full(3, TEN_KN), np.ones(2), np.arange(3))
    assert run.jack_n[0] == pytest.approx([8252.216748768473, 8423.645320197, TEN_KN], rel=1e-10)
    assert run.jack_n[1] == pytest.approx([9710.505238727479, 9951.017620131413, TEN_KN], rel=1e-12)


def test_another_order_of_the_three_bolts_ends_elsewhere() -> None:
    run = run_passes(three_bolts(), np.full(3, TEN_KN), ONE, np.array([1, 0, 2]))
    assert run.jack_n[0] == pytest.approx(
        [9852.216748768473, 6823.6453201970435, TEN_KN], rel=1e-12
    )


def test_compensated_targets_give_every_bolt_its_force_in_a_single_pass() -> None:
    target = np.full(3, TEN_KN)
    set_to = compensated_targets(three_bolts(), np.arange(3), target)
    assert set_to == pytest.approx([12_000.0, 11576.354679802957, TEN_KN], rel=1e-12)
    assert run_passes(three_bolts(), set_to, ONE, np.arange(3)).jack_n[0] == pytest.approx(
        target, rel=1e-12
    )


def test_a_part_shared_by_two_rigid_jacks_is_squeezed_by_both() -> None:
    run = run_passes(chain(0.0), np.full(2, TEN_KN), ONE, np.arange(2))
    assert run.link_n[0] == pytest.approx([TEN_KN, 15_000.0, 5000.0], rel=1e-12)
    assert run.jack_n[0, 0] == pytest.approx(1.25 * TEN_KN, rel=1e-12)


def test_anchors_as_stiff_as_a_part_share_the_squeeze() -> None:
    run = run_passes(chain(1.0), np.full(2, TEN_KN), ONE, np.arange(2))
    worked = [12189.349112426036, 12071.005917159764, 7928.994082840236]
    assert run.link_n[0] == pytest.approx(worked, rel=1e-12)


def test_jacks_that_float_give_the_same_force_all_along_the_chain() -> None:
    run = run_passes(chain(2e5), np.full(2, TEN_KN), ONE, np.arange(2))
    assert run.link_n[0] == pytest.approx([10000.00005, 10000.000025, 9999.999975], abs=1e-1)
    nearer = run_passes(chain(2e8), np.full(2, TEN_KN), ONE, np.arange(2))
    assert nearer.link_n[0] == pytest.approx([TEN_KN] * 3, abs=1e-4)


def test_rows_sharing_stops_held_flat_lose_what_the_closed_form_says() -> None:
    rows = rows_sharing_stops(5, FLAT_M_PER_N)
    run = run_passes(rows, np.ones(5), np.ones(2), np.arange(5))
    lost = sum(FLAT_M_PER_N / (ROW_M_PER_N + k * FLAT_M_PER_N) for k in range(1, 5))
    assert run.jack_n[0, 0] == pytest.approx(1 - lost, rel=1e-12)
    assert run.jack_n[0, 0] == pytest.approx(0.7835384890884203, rel=1e-12)
    assert run.jack_n[1, 0] == pytest.approx(0.9803272311209474, rel=1e-9)
    assert run.jack_n[1].min() == run.jack_n[1, 0]
    assert f"{run.jack_n[1, 2]:.4f}" == "0.9948"


@pytest.mark.parametrize(
    ("opening", "left"), [(FLAT_M_PER_N, 0.9413372441837211), (FREE_M_PER_N, 0.5995007344637566)]
)
def test_the_second_of_two_rows_takes_more_on_a_free_plate(opening: float, left: float) -> None:
    run = run_passes(rows_sharing_stops(2, opening), np.ones(2), ONE, np.arange(2))
    assert run.jack_n[0, 0] == pytest.approx(left, rel=1e-12)


def test_the_first_of_five_rows_on_a_free_plate_ends_loose() -> None:
    rows, order = rows_sharing_stops(5, FREE_M_PER_N), np.arange(5)
    forces = np.zeros(5)
    for place, jack in enumerate(order):
        touched = np.isin(np.arange(5), order[: place + 1])
        forces = step(forces, int(jack), 1.0, carry(rows, touched) * touched[:, None], clip=False)
    assert forces[0] == pytest.approx(-0.09077, abs=5e-6)
    assert (interaction_matrix(rows, order) @ np.ones(5))[0] == pytest.approx(forces[0], rel=1e-12)
    run = run_passes(rows, np.ones(5), ONE, order)
    assert run.jack_n[0, 0] == 0.0
    assert solve_contact(rows, run.spread_m).gap_m[0] > 0


def test_locking_the_plate_after_a_pass_on_the_free_plate_is_a_change_of_coupling_at_kept_spread() -> (
    None
):
    free, flat = rows_sharing_stops(2, FREE_M_PER_N), rows_sharing_stops(2, FLAT_M_PER_N)
    run = run_passes(free, np.ones(2), ONE, np.arange(2))
    locked = after_change(flat, run.spread_m)
    push = ROW_M_PER_N * run.link_n[0] + FREE_M_PER_N * run.link_n[0].sum()
    total = push.sum() / (ROW_M_PER_N + 2 * FLAT_M_PER_N)
    assert locked.link_n == pytest.approx((push - FLAT_M_PER_N * total) / ROW_M_PER_N, rel=1e-12)
    assert (locked.link_n > run.link_n[0]).all()


def test_a_recheck_on_the_locked_plate_after_tightening_it_free_finds_nobody_low() -> None:
    free, flat = rows_sharing_stops(2, FREE_M_PER_N), rows_sharing_stops(2, FLAT_M_PER_N)
    run = run_passes(free, np.ones(2), np.ones(3), np.arange(2))
    checked = recheck(flat, np.ones(2), np.arange(2), run.spread_m)
    assert not checked.below_target.any()
    assert checked.turned_m.max() == 0.0


def test_warming_and_settling_are_changes_of_gap() -> None:
    steel = FLAT_M_PER_N * 68.9 / 205.0
    warm = replace(rows_sharing_stops(1, steel), gap_m=np.array([-26.18e-6]))
    assert after_change(warm, np.zeros(1)).link_n[0] == pytest.approx(2252.130355, rel=1e-4)
    flat = rows_sharing_stops(1, FLAT_M_PER_N)
    tight = run_passes(flat, np.array([6000.0]), ONE, np.arange(1))
    settled = after_change(replace(flat, gap_m=np.array([5e-6])), tight.spread_m)
    assert 6000.0 - settled.link_n[0] == pytest.approx(413.3724418372108, rel=1e-10)


def test_the_tablets_steps_agree_with_the_exact_pulls_once_every_link_touches() -> None:
    it, target, order = (
        random_interaction(3, 9, 6, 0.3),
        targets(4, 6),
        np.array([4, 0, 5, 2, 1, 3]),
    )
    first = run_passes(it, 0.5 * target, np.ones(1), order)
    assert first.pull_touching[0, -1].all()
    forces = first.jack_n[0]
    exact = run_passes(it, target, np.ones(2), order, start_m=first.spread_m)
    assert exact.pull_touching.all()
    for pass_index in range(2):
        for place, jack in enumerate(order):
            forces = step(forces, int(jack), float(target[jack]), carry(it))
            assert forces == pytest.approx(exact.pull_jack_n[pass_index, place], rel=1e-10)


def test_a_step_follows_the_first_pass_with_the_columns_of_the_interaction_matrix() -> None:
    it, target, order = (
        unloading_interaction(5, 7, 0.1),
        targets(6, 7),
        np.array([3, 1, 6, 0, 2, 5, 4]),
    )
    matrix = interaction_matrix(it, order)
    run = run_passes(it, target, ONE, order)
    assert run.pull_touching[0, -1].all()
    forces = np.zeros(7)
    for place, jack in enumerate(order):
        forces = step(forces, int(jack), float(target[jack]), matrix)
        assert forces == pytest.approx(run.pull_jack_n[0, place], rel=1e-10)
    in_order = matrix[np.ix_(order, order)]
    assert np.array_equal(np.diag(in_order), np.ones(7))
    assert not np.tril(in_order, -1).any()


def test_a_step_never_lowers_its_own_jack_and_never_makes_a_force_negative() -> None:
    matrix = carry(rows_sharing_stops(2, FREE_M_PER_N))
    assert np.array_equal(step(np.array([2.0, 1.0]), 0, 1.5, matrix), [2.0, 1.0])
    assert step(np.array([0.1, 0.0]), 1, 5.0, matrix)[0] == 0.0


def test_link_carry_is_the_change_per_newton_of_the_jacks_mean() -> None:
    it = random_interaction(8, 10, 5, 0.4)
    per_newton = link_carry(it)
    assert np.allclose(it.mean @ per_newton, carry(it))
    assert np.allclose(np.diag(carry(it)), 1.0)
    spread = np.linalg.solve(it.presses.T @ it.presses, it.presses.T @ np.full(10, 2e-4))
    bump = np.zeros(5)
    bump[2] = 1e-7
    before, after = solve_contact(it, spread), solve_contact(it, spread + bump)
    assert before.touching.all() and after.touching.all()
    change = after.link_n - before.link_n
    assert change / (it.mean[2] @ change) == pytest.approx(per_newton[:, 2], rel=1e-6, abs=1e-9)


def test_a_jack_inside_the_dead_band_is_low_but_would_not_move() -> None:
    rows = rows_sharing_stops(5, FLAT_M_PER_N)
    run = run_passes(rows, np.ones(5), ONE, np.arange(5))
    checked = recheck(rows, np.ones(5), np.arange(5), run.spread_m, dead_band=0.1)
    assert checked.below_target.all()
    assert 0 < checked.would_move.sum() < 5
    assert checked.would_move[0].tolist() == (checked.before_n[0] < 0.9).tolist()
    assert checked.turned_m[0].astype(bool).tolist() == checked.would_move[0].tolist()


def made(own: object, coupling: object, presses: object) -> Interaction:
    return Interaction(np.array(own), np.array(coupling), np.array(presses))


@pytest.mark.parametrize(
    ("own", "coupling", "presses", "says"),
    [
        ([1e-8, np.inf], np.zeros((2, 2)), np.eye(2), r"Links \[1\].*zero stiffness"),
        ([1e-8, 1e-8], [[0, np.nan], [np.nan, 0]], np.eye(2), r"Links \[0, 1\].*not a finite"),
        ([1e-8, -1e-8], np.zeros((2, 2)), np.eye(2), r"Links \[1\] have a negative compliance"),
        ([0.0, 1e-8], np.zeros((2, 2)), np.eye(2), r"Links \[0\] do not give"),
        ([1e-8, 1e-8], [[0, 1e-9], [2e-9, 0]], np.eye(2), "not symmetric"),
        ([1e-8, 1e-8], [[0, 3e-8], [3e-8, 0]], np.eye(2), "not positive definite"),
        ([0.0, 0.0], np.full((2, 2), 1e-8), np.eye(2), r"mechanism.*condition number"),
        ([1e-8, 1e-8], np.zeros((2, 2)), [[1, 0], [1, 0]], r"Jacks \[1\] press on nothing"),
        ([1e-8, 1e-8], np.zeros((2, 2)), [[1, 0], [0, -1]], "0 or more"),
        ([1e-8, 1e-8], np.zeros((3, 3)), np.eye(2), "2 links need a coupling of 2 by 2"),
        ([], np.zeros((0, 0)), np.zeros((0, 0)), "at least one link"),
    ],
)
def test_compliances_that_cannot_be_are_refused_with_the_reason(
    own: object, coupling: object, presses: object, says: str
) -> None:
    with pytest.raises(InteractionError, match=says):
        made(own, coupling, presses)


def test_the_condition_number_does_not_change_with_the_unit_of_force() -> None:
    small = random_interaction(1, 5, 5)
    large = Interaction(small.own_m_per_n * 1e6, small.coupling_m_per_n * 1e6, small.presses)
    assert small.condition == pytest.approx(large.condition, rel=1e-9)


@pytest.mark.parametrize(
    ("target", "shares", "order", "says"),
    [
        ([1.0, 1.0], [1.0], [0, 0], "each of the 2 jacks once"),
        ([1.0, -1.0], [1.0], [0, 1], "target force"),
        ([1.0, np.nan], [1.0], [0, 1], "target force"),
        ([1.0, 1.0], [], [0, 1], "at least one pass"),
        ([1.0, 1.0], [-0.5], [0, 1], "at least one pass"),
    ],
)
def test_a_plan_that_does_not_fit_the_jacks_is_refused(
    target: list[float], shares: list[float], order: list[int], says: str
) -> None:
    with pytest.raises(InteractionError, match=says):
        run_passes(
            rows_sharing_stops(2, FLAT_M_PER_N), np.array(target), np.array(shares), np.array(order)
        )


def test_compensation_that_would_need_a_force_below_zero_is_refused() -> None:
    gaining = single_links([1.0, 1.0], [[1.0, -0.9], [-0.9, 1.0]])
    with pytest.raises(InteractionError, match=r"Jacks \[0\] gain more"):
        compensated_targets(gaining, np.arange(2), np.array([1000.0, 9000.0]))
