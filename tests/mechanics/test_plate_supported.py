"""Thin plates on their rims: series of Navier and Levy, Ritz, and states the elements hold exactly.

w = alpha q a^4/D, M = beta q a^2 with D = E t^3/[12 (1 - nu^2)], nu = 0.3 for moments; a is the shorter
side. Heights of Bogner-Fox-Schmit rectangles err by h^4, moments by h^2.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np
import pytest

from api.mechanics.plate.shape import Bar, PlateShape, Pocket, Rectangle
from api.mechanics.plate.solving import PlateSolver, solver_of
from tests.mechanics.plate_cases import (
    E_PA,
    Array,
    Held,
    clamped,
    edge_couples,
    fine,
    held,
    moments_n,
    plain,
    pressure,
    rigidity_nm,
    rims,
    supported,
)

NU, THICK_M = 0.3, 0.01
D_NM = rigidity_nm(plain(1.0, 1.0, THICK_M, NU))
NAVIER = {  # b/a: alpha, beta of Mx, beta of My
    1.0: (0.004062352660675059, 0.047886379631976235, 0.047886379632681574),
    1.2: (0.005650530, 0.06268181926176229, 0.05008094506196716),
    1.5: (0.00772402162333275, 0.0811601, 0.04984270752139031),
    2.0: (0.010128663055205857, 0.101683085245432, 0.0463503),
    3.0: (0.01223281084440502, 0.11886052400027988, 0.040626588978602364),
}


@cache
def rectangle(ratio: float, cells: int) -> PlateSolver:
    """One metre by `ratio`, with so many cells along the metre."""
    return solver_of(plain(1.0, ratio, THICK_M, NU), 1.0 / cells)


def all_round(solver: PlateSolver, loads: Array) -> Held:
    return held(solver, loads, supported(solver, *rims(solver.shape)))


@cache
def pressed(ratio: float, cells: int) -> Held:
    solver = rectangle(ratio, cells)
    return all_round(solver, pressure(solver, 1.0))


def refined(value: Callable[[int], float], cells: int, order: int) -> float:
    """Richardson's extrapolation from one grid and the one of half its cells, error h^order."""
    return float((2**order * value(cells) - value(cells // 2)) / (2**order - 1))


@pytest.mark.parametrize("ratio", NAVIER)
def test_the_middle_of_a_supported_rectangle_rises_by_naviers_series(ratio: float) -> None:
    alpha = NAVIER[ratio][0]
    assert pressed(ratio, 16).at(0.5, ratio / 2) * D_NM == pytest.approx(alpha, rel=3e-6)


@pytest.mark.parametrize("ratio", NAVIER)
def test_the_moments_in_its_middle_are_naviers(ratio: float) -> None:
    for axis, beta in enumerate(NAVIER[ratio][1:]):

        def moment(cells: int, axis: int = axis) -> float:
            return float(moments_n(pressed(ratio, cells), 0.5, ratio / 2)[axis])

        assert moment(16) == pytest.approx(beta, rel=3e-3)
        assert refined(moment, 16, 2) == pytest.approx(beta, rel=1.1e-4)


def test_a_long_rectangle_bends_in_its_middle_like_a_strip() -> None:
    found = pressed(6.0, 8)
    assert found.at(0.5, 3.0) * D_NM == pytest.approx(5 / 384, rel=1e-3)
    along, across, _ = moments_n(found, 0.5, 3.0)
    assert along == pytest.approx(1 / 8, rel=0.011)
    assert across == pytest.approx(NU / 8, rel=0.015)


def test_halving_the_cells_divides_the_error_of_a_height_by_16() -> None:
    errors = np.array(
        [pressed(1.0, n).at(0.5, 0.5) * D_NM / NAVIER[1.0][0] - 1 for n in (4, 8, 16)]
    )
    assert np.log2(errors[:-1] / errors[1:]) == pytest.approx([4.0, 4.0], abs=0.15)
    assert errors[1] == pytest.approx(4.25e-5, rel=0.02)


def test_on_32_cells_the_square_is_right_to_2_in_10_million() -> None:
    found = pressed(1.0, 32)
    assert found.at(0.5, 0.5) * D_NM == pytest.approx(NAVIER[1.0][0], rel=2e-7)


def test_halving_the_cells_divides_the_error_of_a_moment_by_4() -> None:
    errors = np.array(
        [moments_n(pressed(1.0, n), 0.5, 0.5)[0] / NAVIER[1.0][1] - 1 for n in (8, 16)]
    )
    assert np.log2(errors[0] / errors[1]) == pytest.approx(2.0, abs=0.15)


def test_supports_carry_the_whole_pressure() -> None:
    found = pressed(1.0, 8)
    nodes = found.solver.bending.nodal_dofs[0]
    assert found.reaction[nodes].sum() == pytest.approx(-1.0, rel=1e-9)


def corner_share(ratio: float) -> float:
    """2 (1 - nu) D w,xy of Navier's series at a corner, over q a^2."""
    m, n = (odd.astype(float) for odd in np.meshgrid(*[np.arange(1, 2001, 2)] * 2))
    terms = 1 / (m**2 + (n / ratio) ** 2) ** 2
    return float(2 * (1 - NU) * 16 / (np.pi**4 * ratio) * terms.sum())


@pytest.mark.parametrize(("ratio", "rounded"), [(1.0, 0.065), (2.0, 0.093)])
def test_corners_must_be_held_down_with_twice_the_twisting_moment(
    ratio: float, rounded: float
) -> None:
    def force(cells: int) -> float:
        return 2 * abs(float(moments_n(pressed(ratio, cells), 1e-9, 1e-9)[2]))

    assert corner_share(ratio) == pytest.approx(rounded, abs=5e-4)
    assert refined(force, 16, 2) == pytest.approx(corner_share(ratio), rel=3e-4)


def test_a_force_in_the_middle_of_a_square_lifts_it_by_00116008_p_a2_over_d() -> None:
    def lifted(cells: int) -> float:
        solver = rectangle(1.0, cells)
        loads = solver.press_loads(np.array([0.5]), np.array([0.5]))[:, 0]
        return all_round(solver, loads).at(0.5, 0.5) * D_NM

    assert lifted(32) == pytest.approx(0.0116008, rel=2e-4)
    assert refined(lifted, 32, 2) == pytest.approx(0.0116008, rel=5e-6)


def test_couples_on_all_four_rims_of_a_square_lift_its_middle() -> None:
    solver = rectangle(1.0, 16)
    loads = edge_couples(solver, 1.0, along="x") + edge_couples(solver, 1.0, along="y")
    lifted = all_round(solver, loads).at(0.5, 0.5) * D_NM
    assert lifted == pytest.approx(0.07367135328151381, rel=3e-6)


@pytest.mark.parametrize(
    ("ratio", "share"),
    [
        (0.5, 0.02411483414580627),
        (0.75, 0.0348632),
        (1.0, 0.036835676640756904),
        (1.5, 0.028016131552969774),
        (2.0, 0.017412495544049233),
    ],
)
def test_couples_on_two_opposite_rims_lift_the_middle_by_levys_series(
    ratio: float, share: float
) -> None:
    solver = rectangle(ratio, 16)
    lifted = all_round(solver, edge_couples(solver, 1.0, along="x")).at(0.5, ratio / 2) * D_NM
    assert lifted == pytest.approx(share, rel=3e-6)


def test_rim_couples_lift_a_supported_plate_alike_whatever_its_poisson_ratio() -> None:
    shares = []
    for nu in (0.0, 0.3, 0.45):
        solver = fine(plain(1.0, 1.0, THICK_M, nu), 8)
        lifted = all_round(solver, edge_couples(solver, 1.0, along="y")).at(0.5, 0.5)
        shares.append(lifted * rigidity_nm(solver.shape))
    assert shares == pytest.approx([shares[0]] * 3, rel=1e-9)


@cache
def built_in(cells: int) -> Held:
    solver = rectangle(1.0, cells)
    return held(solver, pressure(solver, 1.0), clamped(solver, *rims(solver.shape)))


def test_a_built_in_square_rises_by_0001265_q_a4_over_d() -> None:
    assert built_in(32).at(0.5, 0.5) * D_NM == pytest.approx(0.0012653190875087505, rel=5e-7)


def test_a_built_in_square_has_these_moments_in_its_middle_and_at_its_rim() -> None:
    middle = refined(lambda cells: float(moments_n(built_in(cells), 0.5, 0.5)[0]), 32, 2)
    rim = refined(lambda cells: float(moments_n(built_in(cells), 1e-9, 0.5)[0]), 32, 2)
    assert middle == pytest.approx(0.02291, abs=6e-6)
    assert rim == pytest.approx(-0.05133, abs=1.5e-5)


def free(solver: PlateSolver, loads: Array) -> Held:
    """Held at three corners, which takes nothing from loads that balance."""
    w = solver.deflections(loads[:, None])[:, 0]
    return Held(solver, w, np.zeros_like(w))


# 6061, 30 mm thick: Mx = 810 N·m over 300 mm = 2700 N.
def test_a_free_plate_under_couples_on_two_rims_is_a_saddle_with_minus_nu_of_the_curvature() -> (
    None
):
    solver = solver_of(plain(0.4, 0.3, 0.03, 0.33), 0.1)
    found = free(solver, edge_couples(solver, 2700.0, along="y"))
    middle = found.at(0.2, 0.15)
    along = (middle - (found.at(0.0, 0.15) + found.at(0.4, 0.15)) / 2) * 2 / 0.2**2
    across = (middle - (found.at(0.2, 0.0) + found.at(0.2, 0.3)) / 2) * 2 / 0.15**2
    assert along == pytest.approx(1.741654571843251e-2, rel=1e-9)
    assert across == pytest.approx(-0.33 * 1.741654571843251e-2, rel=1e-9)
    assert found.at(0.0, 0.0) - middle == pytest.approx(-0.2836719883889695e-3, rel=1e-9)


def test_a_free_plate_under_equal_couples_all_round_is_a_sphere() -> None:
    solver = solver_of(plain(0.4, 0.3, 0.03, 0.33), 0.1)
    loads = edge_couples(solver, 2700.0, along="x") + edge_couples(solver, 2700.0, along="y")
    found = free(solver, loads)
    x_m, y_m = (
        grid.ravel() for grid in np.meshgrid(np.linspace(0, 0.4, 5), np.linspace(0, 0.3, 4))
    )
    heights = solver.samples(x_m, y_m).value @ found.w
    sphere = -1.1669085631349782e-2 / 2 * ((x_m - 0.2) ** 2 + (y_m - 0.15) ** 2)
    assert heights - heights.mean() == pytest.approx(sphere - sphere.mean(), abs=1e-12)


# A disc under an even rim couple takes the same sphere, M a^2/(2 D (1 + nu)) high: 0.3846154 for nu = 0.3.
def test_that_sphere_is_the_one_of_a_disc_under_the_same_couple() -> None:
    solver = rectangle(1.0, 4)
    loads = edge_couples(solver, 1.0, along="x") + edge_couples(solver, 1.0, along="y")
    found = free(solver, loads)
    for angle in (0.0, 0.7, 2.0):
        rim = found.at(0.5 + 0.4 * np.cos(angle), 0.5 + 0.4 * np.sin(angle))
        height = found.at(0.5, 0.5) - rim
        assert height * D_NM / 0.4**2 == pytest.approx(0.3846154, rel=1e-6)


def test_forces_up_and_down_at_the_corners_twist_a_plate_by_p_over_2_d_times_1_minus_nu() -> None:
    solver = solver_of(plain(0.4, 0.3, THICK_M, NU), 0.1)
    x_m, y_m = np.array([0.0, 0.4, 0.4, 0.0]), np.array([0.0, 0.0, 0.3, 0.3])
    found = free(solver, solver.press_loads(x_m, y_m) @ np.array([1.0, -1.0, 1.0, -1.0]))
    twist = (found.at(0.4, 0.3) - found.at(0.4, 0) - found.at(0, 0.3) + found.at(0, 0)) / 0.12
    assert twist == pytest.approx(1 / (2 * D_NM * (1 - NU)), rel=1e-9)


def test_a_turn_as_a_whole_costs_no_energy() -> None:
    solver = rectangle(1.5, 8)
    forces = np.abs(solver.stiffness @ solver.rigid).max()
    assert forces < 1e-10 * np.abs(solver.stiffness.data).max()


def test_its_weight_is_that_of_plate_and_bars_less_the_pockets() -> None:
    shape = PlateShape(
        0.4,
        0.3,
        0.02,
        E_PA,
        NU,
        2700.0,
        (Pocket(Rectangle(0.1, 0.1, 0.2, 0.2), 0.008),),
        (Bar(Rectangle(0.25, 0.05, 0.27, 0.25), 0.015, 205e9, 0.29, 7850.0),),
    )
    volume_m3, bar_m3 = 0.4 * 0.3 * 0.02 - 0.1 * 0.1 * 0.008, 0.02 * 0.2 * 0.015
    solver = solver_of(shape, 0.1)
    weight = -(solver.rigid.T @ solver.weight_loads())
    assert weight[0] == pytest.approx(9.80665 * (2700 * volume_m3 + 7850 * bar_m3), rel=1e-9)
    about_y = 2700 * (0.4 * 0.3 * 0.02 * 0.2 - 0.1 * 0.1 * 0.008 * 0.15) + 7850 * bar_m3 * 0.26
    assert weight[1] == pytest.approx(9.80665 * about_y, rel=1e-9)


def test_a_place_off_the_plate_is_refused_with_where_it_lies() -> None:
    solver = rectangle(1.0, 4)
    with pytest.raises(ValueError, match=r"\(1200, 500\) mm lies off the plate; move it"):
        solver.samples(np.array([0.5, 1.2]), np.array([0.5, 0.5]))


def test_a_pocket_through_the_plate_is_refused() -> None:
    with pytest.raises(ValueError, match="10 mm deep leaves nothing of a plate 10 mm thick"):
        PlateShape(1, 1, 0.01, E_PA, NU, 0, (Pocket(Rectangle(0, 0, 1, 1), 0.01),))


@pytest.mark.parametrize(("e_pa", "nu"), [(0.0, 0.3), (-1.0, 0.3), (E_PA, 0.5), (E_PA, -0.1)])
def test_a_material_that_cannot_be_is_refused(e_pa: float, nu: float) -> None:
    with pytest.raises(ValueError, match="correct the material"):
        PlateShape(1, 1, 0.01, e_pa, nu, 0)
