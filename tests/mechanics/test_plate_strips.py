"""A plate bent along its length by forces above it: closed forms of beams, and lock-down by studs.

Worked case: five rows of 6 kN between lines 440 mm apart, 12 mm above a plate 300 mm wide and 30 mm
thick of 68.9 GPa and Poisson's ratio 0.33: couple M = F e = 810 N·m with e = t/2 + 12 mm = 27 mm,
EI = E B t^3/12. The couples are spread evenly over the width, so the elements hold the exact answer.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from api.mechanics.plate.shape import PlateShape, Pocket, Rectangle
from api.mechanics.plate.solving import PlateSolver, solver_of
from tests.mechanics.plate_cases import (
    E_PA,
    Array,
    Edge,
    Held,
    couple_loads,
    flat_across,
    held,
    line_pushes,
    on_lines,
    plain,
    pressing_line,
    rigidity_nm,
    supported,
)

SPAN_M, WIDTH_M, THICK_M, HEIGHT_M = 0.44, 0.30, 0.03, 0.012
ARM_M = THICK_M / 2 + HEIGHT_M
FORCE_N = 5 * 6000.0
MOMENT_NM = FORCE_N * ARM_M
EI_NM2 = E_PA * WIDTH_M * THICK_M**3 / 12
CROWN_M = MOMENT_NM * SPAN_M**2 / (8 * EI_NM2)


def pulled(shape: PlateShape, spacing_m: float = 0.11) -> tuple[Held, Array, Array]:
    """Forces outward on both ends of the plate: what bends, its loads, and the loads that stretch."""
    solver = solver_of(shape, spacing_m)
    pushes = [
        *line_pushes(solver, 0.0, -FORCE_N, HEIGHT_M),
        *line_pushes(solver, shape.length_m, FORCE_N, HEIGHT_M),
    ]
    bend, stretch = (loads.sum(axis=1) for loads in solver.push_loads(pushes))
    w = solver.deflections(bend[:, None])[:, 0]
    return Held(solver, w, np.zeros_like(w)), bend, stretch


def sagitta_m(found: Held, start_m: float, end_m: float, at_m: float, y_m: float) -> float:
    """Height above the straight line between two places."""
    share = (at_m - start_m) / (end_m - start_m)
    line = (1 - share) * found.at(start_m, y_m) + share * found.at(end_m, y_m)
    return found.at(at_m, y_m) - line


@pytest.fixture(scope="module")
def free() -> tuple[Held, Array, Array]:
    return pulled(plain(SPAN_M, WIDTH_M, THICK_M, 0.33))


def test_the_worked_couple_is_810_newton_metres() -> None:
    assert pytest.approx(810.0) == MOMENT_NM
    assert pytest.approx(18.00e6) == 6 * MOMENT_NM / (WIDTH_M * THICK_M**2)


def test_a_free_plate_under_end_couples_crowns_by_m_l2_over_8_ei(
    free: tuple[Held, Array, Array],
) -> None:
    crown = sagitta_m(free[0], 0.0, SPAN_M, SPAN_M / 2, WIDTH_M / 2)
    assert crown == pytest.approx(0.42148040638606676e-3, rel=1e-9)


@pytest.mark.parametrize(("e_pa", "crown_mm"), [(110e9, 0.2640), (205e9, 0.1417)])
def test_iron_and_steel_crown_in_proportion_to_their_modulus(e_pa: float, crown_mm: float) -> None:
    found, _, _ = pulled(replace(plain(SPAN_M, WIDTH_M, THICK_M, 0.0), e_pa=e_pa))
    crown = sagitta_m(found, 0.0, SPAN_M, SPAN_M / 2, WIDTH_M / 2)
    assert crown * 1e3 == pytest.approx(crown_mm, abs=5e-5)


def test_outward_pushes_above_the_plate_raise_its_middle(free: tuple[Held, Array, Array]) -> None:
    assert sagitta_m(free[0], 0.0, SPAN_M, SPAN_M / 2, WIDTH_M / 2) > 0


def test_its_ends_slope_by_m_l_over_2_ei(free: tuple[Held, Array, Array]) -> None:
    found = free[0]
    at = found.solver.samples(np.array([0.0, SPAN_M]), np.full(2, WIDTH_M / 2))
    start, end = at.dx @ found.w
    assert (start - end) / 2 == pytest.approx(3.8316400580551524e-3, rel=1e-9)


def test_it_dishes_across_its_width_by_nu_m_b2_over_8_ei(free: tuple[Held, Array, Array]) -> None:
    found = free[0]
    rims = (found.at(SPAN_M / 2, 0.0) + found.at(SPAN_M / 2, WIDTH_M)) / 2
    assert rims - found.at(SPAN_M / 2, WIDTH_M / 2) == pytest.approx(
        0.06465892597968069e-3, rel=1e-9
    )


def test_held_straight_across_it_bends_with_the_plate_rigidity() -> None:
    found, bend, _ = pulled(plain(SPAN_M, WIDTH_M, THICK_M, 0.33))
    solver = found.solver
    ends = supported(solver, Edge("y", 0.0), Edge("y", SPAN_M))
    flat = held(solver, bend, np.union1d(flat_across(solver), ends))
    assert flat.at(SPAN_M / 2, WIDTH_M / 2) == pytest.approx(0.3755811901306241e-3, rel=1e-9)
    assert MOMENT_NM * SPAN_M**2 / (8 * rigidity_nm(solver.shape) * WIDTH_M) == pytest.approx(
        0.3755811901306241e-3, rel=1e-12
    )


def test_it_stretches_by_f_l_over_e_b_t(free: tuple[Held, Array, Array]) -> None:
    found, _, stretch = free
    u = found.solver.stretches(stretch[:, None])[:, 0]
    assert stretch @ u / FORCE_N == pytest.approx(21.286889211417513e-6, rel=1e-9)


def test_the_ends_part_at_the_grip_by_1_plus_12_e2_over_t2_of_the_stretch(
    free: tuple[Held, Array, Array],
) -> None:
    found, bend, stretch = free
    u = found.solver.stretches(stretch[:, None])[:, 0]
    opening = (bend @ found.w + stretch @ u) / FORCE_N
    assert opening == pytest.approx(228.19545234639577e-6, rel=1e-9)
    assert opening == pytest.approx(
        stretch @ u / FORCE_N * (1 + 12 * ARM_M**2 / THICK_M**2), rel=1e-9
    )


def test_four_lines_of_anchors_bend_the_plate_piece_by_piece() -> None:
    at_m, forces_n = (0.03, 0.18, 0.32, 0.47), (-30e3, 6e3, -6e3, 30e3)
    shape = plain(0.5, WIDTH_M, THICK_M, 0.0)
    solver = on_lines(shape, (0.0, *at_m, 0.5))
    loads = sum(
        couple_loads(solver, x, force * ARM_M) for x, force in zip(at_m, forces_n, strict=True)
    )
    w = solver.deflections(np.asarray(loads)[:, None])[:, 0]
    found = Held(solver, w, np.zeros_like(w))
    assert sagitta_m(found, 0.03, 0.47, 0.25, WIDTH_M / 2) == pytest.approx(
        0.3763715529753266e-3, rel=1e-9
    )


def test_outside_the_anchors_the_plate_stays_straight() -> None:
    shape = plain(0.64, WIDTH_M, THICK_M, 0.0)
    solver = on_lines(shape, (0.0, 0.1, 0.54, 0.64))
    loads = couple_loads(solver, 0.1, -MOMENT_NM) + couple_loads(solver, 0.54, MOMENT_NM)
    w = solver.deflections(loads[:, None])[:, 0]
    found = Held(solver, w, np.zeros_like(w))
    assert abs(sagitta_m(found, 0.0, 0.1, 0.05, 0.1)) < 1e-9 * CROWN_M
    assert sagitta_m(found, 0.1, 0.54, 0.32, 0.1) == pytest.approx(CROWN_M, rel=1e-9)


def strip(places: int) -> tuple[PlateSolver, Array, list[Edge]]:
    """The worked plate as a strip with couples at its ends and lines at equal distances."""
    shape = plain(SPAN_M, WIDTH_M, THICK_M, 0.0)
    at_m = np.linspace(0, SPAN_M, places).tolist()
    solver = on_lines(shape, at_m)
    loads = couple_loads(solver, 0.0, -MOMENT_NM) + couple_loads(solver, SPAN_M, MOMENT_NM)
    return solver, loads, [Edge("y", x_m) for x_m in at_m]


def locked(places: int) -> tuple[Held, list[float]]:
    """Held up and down at so many lines, and the lines' forces in M/l, upward positive."""
    solver, loads, edges = strip(places)
    found = held(solver, loads, supported(solver, *edges))
    return found, [found.push_n(edge) / (MOMENT_NM / SPAN_M) for edge in edges]


@pytest.mark.parametrize(
    ("places", "share"),
    [(2, 1.0), (3, 2 / 27), (4, 0.04695), (5, 0.02407), (6, 0.01579)],
)
def test_locks_at_equal_distances_leave_this_share_of_the_crown(places: int, share: float) -> None:
    found, _ = locked(places)
    heights = found.along_x(np.linspace(0, SPAN_M, 2641), WIDTH_M / 2)
    assert np.abs(heights).max() / CROWN_M == pytest.approx(share, rel=2.5e-4)


@pytest.mark.parametrize(
    ("places", "forces"),
    [
        (2, [0.0, 0.0]),
        (3, [3.0, -6.0, 3.0]),
        (4, [3.6, -3.6, -3.6, 3.6]),
        (5, [36 / 7, -48 / 7, 24 / 7, -48 / 7, 36 / 7]),
        (6, [6.316, -7.895, 1.579, 1.579, -7.895, 6.316]),
    ],
)
def test_locks_at_equal_distances_pull_and_push_with_these_forces(
    places: int, forces: list[float]
) -> None:
    _, found = locked(places)
    assert found == pytest.approx(forces, abs=5e-4)


def test_a_stud_in_the_middle_needs_6_m_over_l_to_hold_it_flat() -> None:
    found, _ = locked(3)
    assert found.push_n(Edge("y", SPAN_M / 2)) == pytest.approx(-11_045.45, abs=0.01)
    assert pytest.approx(11_045.45, abs=0.01) == 6 * MOMENT_NM / SPAN_M


def test_what_a_middle_stud_leaves_is_highest_at_a_sixth_of_the_span() -> None:
    found, _ = locked(3)
    x_m = np.linspace(0, SPAN_M / 2, 661)
    heights = found.along_x(x_m, WIDTH_M / 2)
    assert x_m[np.argmax(heights)] == pytest.approx(SPAN_M / 6, abs=SPAN_M / 1320)
    assert heights.max() == pytest.approx(0.031220770843412352e-3, rel=1e-5)
    shape = MOMENT_NM * x_m * (SPAN_M - 2 * x_m) ** 2 / (8 * SPAN_M * EI_NM2)
    assert heights == pytest.approx(shape, abs=1e-9 * CROWN_M)


def test_a_stud_that_gives_pulls_less_and_leaves_the_middle_high() -> None:
    solver, loads, edges = strip(3)
    stud_n_m, ends = 150e6, supported(solver, edges[0], edges[2])
    line = pressing_line(solver, SPAN_M / 2)
    crown, per_newton = (line @ held(solver, each, ends).w for each in (loads, line))
    pull_n = crown / (per_newton + 1 / stud_n_m)
    left = held(solver, loads - pull_n * line, ends)
    assert pull_n == pytest.approx(9402.716596180135, rel=1e-9)
    assert left.at(SPAN_M / 2, WIDTH_M / 2) == pytest.approx(62.68477730786756e-6, rel=1e-9)
    assert left.at(SPAN_M / 2, 0.0) * stud_n_m == pytest.approx(pull_n, rel=1e-9)


LENGTH_M = 1.0


def beam() -> tuple[PlateSolver, float]:
    """A strip a metre long, and its EI."""
    solver = on_lines(plain(LENGTH_M, 0.05, 0.01, 0.0), (0.0, 0.5, LENGTH_M))
    return solver, E_PA * 0.05 * 1e-6 / 12


def on_its_ends(solver: PlateSolver, loads: Array) -> Held:
    return held(solver, loads, supported(solver, Edge("y", 0.0), Edge("y", LENGTH_M)))


def test_a_couple_at_mid_length_bends_a_supported_strip_most_at_l_over_root_12() -> None:
    solver, ei = beam()
    found = on_its_ends(solver, couple_loads(solver, LENGTH_M / 2, 1.0))
    x_m = np.linspace(0, LENGTH_M / 2, 4001)
    heights = np.abs(found.along_x(x_m, 0.025))
    assert heights.max() * ei == pytest.approx(np.sqrt(3) / 216, rel=1e-6)
    assert x_m[np.argmax(heights)] == pytest.approx(LENGTH_M / np.sqrt(12), abs=2e-4)


def test_a_couple_at_one_end_bends_a_supported_strip_by_m_l2_over_9_root_3_ei() -> None:
    solver, ei = beam()
    found = on_its_ends(solver, couple_loads(solver, 0.0, 1.0))
    heights = np.abs(found.along_x(np.linspace(0, LENGTH_M, 4001), 0.025))
    assert heights.max() * ei == pytest.approx(1 / (9 * np.sqrt(3)), rel=1e-6)


def test_equal_end_couples_bend_a_supported_strip_by_an_eighth_of_m_l2_over_ei() -> None:
    solver, ei = beam()
    loads = couple_loads(solver, 0.0, -1.0) + couple_loads(solver, LENGTH_M, 1.0)
    assert on_its_ends(solver, loads).at(0.5, 0.025) * ei == pytest.approx(1 / 8, rel=1e-9)


# (1/EI) int M m dx with m the moment of a unit load at the middle: for a middle part of the length c
# with EI1 and ends with EI0, M = 1: l^2/(8 EI0) + (1/EI1 - 1/EI0) (c/2)(l - c/2)/2.
@pytest.mark.parametrize("depth_m", [0.002, 0.006])
def test_a_pocket_right_across_bends_as_a_stepped_beam(depth_m: float) -> None:
    shape = plain(LENGTH_M, 0.05, 0.01, 0.0)
    pocket = Pocket(Rectangle(0.3, -0.01, 0.7, 0.06), depth_m)
    solver = on_lines(replace(shape, pockets=(pocket,)), (0.0, 0.3, 0.7, LENGTH_M))
    loads = couple_loads(solver, 0.0, -1.0) + couple_loads(solver, LENGTH_M, 1.0)
    full, left = (E_PA * 0.05 * t**3 / 12 for t in (0.01, 0.01 - depth_m))
    within = 0.4 / 2 * (LENGTH_M - 0.4 / 2) / 2
    expected = LENGTH_M**2 / (8 * full) + (1 / left - 1 / full) * within
    assert on_its_ends(solver, loads).at(0.5, 0.025) == pytest.approx(expected, rel=1e-9)


def test_overlapping_pockets_leave_the_thinner_of_the_two() -> None:
    shape = plain(LENGTH_M, 0.05, 0.01, 0.0)
    area = Rectangle(0.3, -0.01, 0.7, 0.06)
    middles = []
    for depths in ((0.006,), (0.002, 0.006), (0.006, 0.002)):
        pockets = tuple(Pocket(area, depth) for depth in depths)
        solver = on_lines(replace(shape, pockets=pockets), (0.0, 0.3, 0.7, LENGTH_M))
        loads = couple_loads(solver, 0.0, -1.0) + couple_loads(solver, LENGTH_M, 1.0)
        middles.append(on_its_ends(solver, loads).at(0.5, 0.025))
    assert middles == pytest.approx([middles[0]] * 3, rel=1e-12)
