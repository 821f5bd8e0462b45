"""A heavy strip on a hard flat base, and one held to it by a stud: where it lifts, and how high.

Euler-Bernoulli strip, weight q per length, rigid flat: no moment where it touches. 6061, 300 x 30 mm,
q = 0.2384 N/mm. The base is 101 pairs of points along the strip, each of 10^13 N/m:
heights come within 0.2 % of a rigid base, places within the 5 mm between points.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

from api.mechanics.contact.settling import Settled, settle
from api.mechanics.plate.shape import PlateShape
from api.mechanics.plate.solving import GRAVITY_M_S2, PlateSolver
from tests.mechanics.plate_cases import E_PA, Array, couple_loads, on_lines, pressing_line

WIDTH_M, THICK_M, LENGTH_M, Q_N_M = 0.30, 0.03, 0.5, 238.383
DENSITY = Q_N_M / (GRAVITY_M_S2 * WIDTH_M * THICK_M)
EI_NM2 = E_PA * WIDTH_M * THICK_M**3 / 12
POINTS, HARD_N_M = 100, 1e13
STEP_M = LENGTH_M / POINTS


@dataclass(frozen=True)
class Base:
    """A strip on its base; every contact is half a line across it, pressed evenly."""

    solver: PlateSolver
    x_m: Array
    contacts: Array
    fields: Array

    def rest(self, loads: Array) -> Rest:
        field = self.solver.deflections(loads[:, None])[:, 0]
        flexibility = self.contacts.T @ self.fields + np.eye(self.contacts.shape[1]) / HARD_N_M
        settled = settle(
            flexibility,
            self.contacts.T @ field,
            self.contacts.T @ self.solver.rigid,
            self.solver.rigid.T @ loads,
        )
        w = field + self.fields @ settled.force_n + self.solver.rigid @ settled.rigid
        at = self.solver.samples(self.x_m, np.full(len(self.x_m), WIDTH_M / 2))
        return Rest(self.x_m, at.value @ w, settled.force_n.reshape(-1, 2).sum(axis=1), settled)


@dataclass(frozen=True)
class Rest:
    """Heights and forces of the base along the strip."""

    x_m: Array
    height_m: Array
    force_n: Array
    settled: Settled

    @property
    def pressed_m(self) -> Array:
        return self.x_m[self.force_n > 0]


@cache
def base(length_m: float = LENGTH_M, density: float = DENSITY) -> Base:
    shape = PlateShape(length_m, WIDTH_M, THICK_M, E_PA, 0.0, density)
    solver = on_lines(shape, np.linspace(0, length_m, POINTS + 1), rows=2)
    x_m = np.unique(solver.bending.mesh.p[0])
    offsets = np.array([0.5 - 0.5 / np.sqrt(3), 0.5 + 0.5 / np.sqrt(3)]) * WIDTH_M / 2
    contacts = np.column_stack(
        [
            solver.press_loads(np.full(2, at_m), y_m + offsets).mean(axis=1)
            for at_m in x_m
            for y_m in (0.0, WIDTH_M / 2)
        ]
    )
    return Base(solver, x_m, contacts, solver.deflections(contacts))


def rest(load: Callable[[PlateSolver], Array]) -> Rest:
    solver = base().solver
    return base().rest(solver.weight_loads() + load(solver))


def test_alone_it_lies_flat_and_presses_with_its_weight() -> None:
    alone = rest(lambda solver: np.zeros(solver.bending.N))
    assert np.abs(alone.height_m).max() < 1e-12
    assert alone.force_n.sum() == pytest.approx(Q_N_M * LENGTH_M, rel=1e-9)
    assert alone.force_n[1:-1].min() > 0.9 * Q_N_M * STEP_M


@pytest.fixture(scope="module")
def pulled_up() -> Rest:
    return rest(lambda solver: 20.0 * pressing_line(solver, LENGTH_M))


def test_an_upward_force_p_at_its_end_lifts_a_length_of_2_p_over_q(pulled_up: Rest) -> None:
    lifted_m = LENGTH_M - pulled_up.pressed_m.max()
    assert pytest.approx(167.8e-3, abs=1e-4) == 2 * 20.0 / Q_N_M
    assert lifted_m == pytest.approx(167.8e-3, abs=STEP_M)


def test_and_raises_it_by_p_a3_over_12_ei(pulled_up: Rest) -> None:
    assert pulled_up.height_m[-1] == pytest.approx(0.1693089381334396e-6, rel=2e-3)
    assert pytest.approx(0.1693089381334396e-6, rel=1e-9) == Q_N_M * (2 * 20.0 / Q_N_M) ** 4 / (
        24 * EI_NM2
    )


def test_and_presses_where_it_lifts_off_with_the_same_force(pulled_up: Rest) -> None:
    last = pulled_up.x_m > pulled_up.pressed_m.max() - 4.5 * STEP_M
    edge_n = pulled_up.force_n[last].sum() - 4 * Q_N_M * STEP_M
    assert edge_n == pytest.approx(20.0, rel=0.05)
    assert pulled_up.force_n.sum() == pytest.approx(Q_N_M * LENGTH_M - 20.0, rel=1e-9)


@pytest.fixture(scope="module")
def tip_lifted() -> Rest:
    return rest(lambda solver: couple_loads(solver, LENGTH_M, -1.5))


def test_a_couple_that_lifts_its_tip_frees_a_length_of_root_2_m_over_q(tip_lifted: Rest) -> None:
    assert LENGTH_M - tip_lifted.pressed_m.max() == pytest.approx(112.18e-3, abs=STEP_M)


def test_and_raises_the_tip_by_m2_over_2_q_ei(tip_lifted: Rest) -> None:
    assert tip_lifted.height_m[-1] == pytest.approx(0.10147387536509005e-6, rel=1.5e-3)


@pytest.fixture(scope="module")
def tip_pressed() -> Rest:
    return rest(lambda solver: couple_loads(solver, LENGTH_M, 1.5))


def test_a_couple_that_presses_its_tip_raises_a_bump_behind_it(tip_pressed: Rest) -> None:
    bump = int(np.argmax(tip_pressed.height_m))
    assert tip_pressed.height_m[bump] == pytest.approx(0.014269763723215787e-6, rel=1e-3)
    assert LENGTH_M - tip_pressed.x_m[bump] == pytest.approx(158.6e-3 / 4, abs=STEP_M)


def test_and_frees_a_length_of_2_root_m_over_q_but_for_the_tip(tip_pressed: Rest) -> None:
    assert tip_pressed.pressed_m.max() == LENGTH_M
    behind = tip_pressed.pressed_m[tip_pressed.pressed_m < LENGTH_M].max()
    assert LENGTH_M - behind == pytest.approx(158.6e-3, abs=STEP_M)
    reach_m = 2 * np.sqrt(1.5 / Q_N_M)
    tip_n = 1.5 / reach_m + Q_N_M * reach_m / 2
    assert tip_pressed.force_n[-1] == pytest.approx(tip_n, rel=1e-3)


def crowned(moment_nm: float) -> Rest:
    return rest(
        lambda solver: (
            couple_loads(solver, 0.0, -moment_nm) + couple_loads(solver, LENGTH_M, moment_nm)
        )
    )


MEET_NM, LEAVE_NM = Q_N_M * LENGTH_M**2 / 16, 5 * Q_N_M * LENGTH_M**2 / 48


def test_the_worked_thresholds_are_3725_and_6208_newton_millimetres() -> None:
    assert pytest.approx(3724.7343750000005e-3, rel=1e-9) == MEET_NM
    assert pytest.approx(6207.890625000001e-3, rel=1e-9) == LEAVE_NM


@pytest.mark.parametrize("share", [0.5, 0.8, 0.95])
def test_bumps_from_both_ends_leave_a_length_of_contact_between_them(share: float) -> None:
    found = crowned(share * MEET_NM)
    inner = found.pressed_m[1:-1]
    assert inner.max() - inner.min() == pytest.approx(
        LENGTH_M * (1 - np.sqrt(share)), abs=1.5 * STEP_M
    )


@pytest.mark.parametrize("share", [1.05, 1.3, 1.6])
def test_once_they_meet_it_rests_on_its_ends_and_its_middle_alone(share: float) -> None:
    moment_nm = share * MEET_NM
    found = crowned(moment_nm)
    assert found.pressed_m == pytest.approx([0.0, LENGTH_M / 2, LENGTH_M])
    middle_n = 5 * Q_N_M * LENGTH_M / 8 - 6 * moment_nm / LENGTH_M
    assert found.force_n[POINTS // 2] == pytest.approx(middle_n, rel=3e-5)


@pytest.mark.parametrize("share", [1.01, 1.5, 4.0])
def test_beyond_5_q_l2_over_48_its_middle_leaves_the_base(share: float) -> None:
    moment_nm = share * LEAVE_NM
    found = crowned(moment_nm)
    rise_m = moment_nm * LENGTH_M**2 / (8 * EI_NM2) - 5 * Q_N_M * LENGTH_M**4 / (384 * EI_NM2)
    assert found.pressed_m == pytest.approx([0.0, LENGTH_M])
    assert found.height_m[POINTS // 2] == pytest.approx(rise_m, rel=1e-4)


# A stud that pulls the middle of a span down with P0, forces F on arms e over the plate, no weight:
# the middle presses with P0 - 6 F e/l until F = P0 l/(6 e) = 27 160 N for 10 kN, l = 440, e = 27 mm.
SPAN_M, ARM_M, PULL_N = 0.44, 0.027, 10e3


def studded(force_n: float) -> Rest:
    on = base(SPAN_M, 0.0)
    moment_nm = force_n * ARM_M
    bent = couple_loads(on.solver, 0.0, -moment_nm) + couple_loads(on.solver, SPAN_M, moment_nm)
    return on.rest(bent - PULL_N * pressing_line(on.solver, SPAN_M / 2))


@pytest.mark.parametrize("force_n", [5e3, 15e3, 27e3])
def test_a_stud_in_the_middle_holds_it_down_until_its_pull_is_used_up(force_n: float) -> None:
    found = studded(force_n)
    left_n = PULL_N - 6 * force_n * ARM_M / SPAN_M
    assert found.pressed_m == pytest.approx([0.0, SPAN_M / 2, SPAN_M])
    assert found.force_n[POINTS // 2] == pytest.approx(left_n, rel=2e-5, abs=0.01)
    crown_m = force_n * ARM_M * SPAN_M**2 / (8 * EI_NM2)
    assert found.height_m.max() == pytest.approx(2 / 27 * crown_m, rel=1e-3)


def test_at_27_160_newtons_the_middle_leaves_the_base() -> None:
    capacity_n = PULL_N * SPAN_M / (6 * ARM_M)
    assert capacity_n == pytest.approx(27160.493827160495, rel=1e-12)
    assert studded(0.9999 * capacity_n).force_n[POINTS // 2] > 0
    beyond = studded(1.01 * capacity_n)
    assert beyond.force_n[POINTS // 2] == 0
    assert beyond.height_m[POINTS // 2] > 0
