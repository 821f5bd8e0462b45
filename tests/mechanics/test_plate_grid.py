"""The rectangles a plate is divided into, and what is computed on them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.mechanics.plate.grid import SAME_LINE_M, lines
from api.mechanics.plate.shape import Pocket, Rectangle
from api.mechanics.plate.solving import PlateSolver, solver_of
from tests.mechanics.plate_cases import (
    Array,
    held,
    on_lines,
    plain,
    pressure,
    rigidity_nm,
    rims,
    supported,
)

places = st.lists(st.floats(-0.1, 0.6, allow_nan=False), max_size=8)


@given(extent_m=st.floats(0.02, 0.5), through_m=places, spacing_m=st.floats(0.005, 0.1))
@settings(max_examples=60, deadline=None)
def test_grid_lines_rise_from_rim_to_rim_no_farther_apart_than_asked(
    extent_m: float, through_m: list[float], spacing_m: float
) -> None:
    found = lines(extent_m, through_m, spacing_m)
    assert found[0] == 0.0
    assert found[-1] == pytest.approx(extent_m)
    steps = np.diff(found)
    assert steps.min() > 0
    assert steps.max() <= spacing_m * (1 + 1e-6)


@given(extent_m=st.floats(0.02, 0.5), through_m=places)
@settings(max_examples=60, deadline=None)
def test_a_grid_line_runs_through_every_place_or_within_a_fifth_of_a_millimetre(
    extent_m: float, through_m: list[float]
) -> None:
    found = lines(extent_m, through_m, 0.05)
    for at_m in through_m:
        if 0 < at_m < extent_m:
            assert np.abs(found - at_m).min() <= SAME_LINE_M * (1 + 1e-9)


def middle_m(solver: PlateSolver) -> float:
    found = held(solver, pressure(solver, 1.0), supported(solver, *rims(solver.shape)))
    return found.at(solver.shape.length_m / 2, solver.shape.width_m / 2)


def cornered() -> PlateSolver:
    """Grid lines a quarter of a millimetre from the two far rims."""
    shape = plain(1.0, 1.0, 0.01, 0.3)
    flat = Pocket(Rectangle(0.875, 0.875, 0.99975, 0.99975), 0.0)
    return solver_of(replace(shape, pockets=(flat,)), 0.125)


def test_an_evenly_bent_plate_stores_the_same_energy_however_narrow_its_cells() -> None:
    solver = cornered()
    (x, y), nodes = solver.bending.mesh.p, solver.bending.nodal_dofs
    assert np.diff(np.unique(x)).min() == pytest.approx(0.25e-3)
    w = np.zeros(solver.bending.N)
    x, y = x - 1.0, y - 1.0  # so that narrow cells do not take differences of large heights
    w[nodes[0]], w[nodes[1]], w[nodes[2]] = x**2 / 2 + y**2, x, 2 * y
    expected = rigidity_nm(solver.shape) * (1 + 4 + 2 * 0.3 * 2)
    assert w @ (solver.stiffness @ w) == pytest.approx(expected, rel=2e-5)


def test_two_edges_a_quarter_of_a_millimetre_apart_change_nothing() -> None:
    plainly = solver_of(replace(cornered().shape, pockets=()), 0.125)
    assert middle_m(cornered()) == pytest.approx(middle_m(plainly), rel=1e-6)


def test_cells_of_a_two_hundredth_of_the_length_keep_seven_digits() -> None:
    shape = plain(1.0, 0.1, 0.01, 0.0)
    solver = on_lines(shape, np.linspace(0, 1, 201))
    found = held(solver, pressure(solver, 1.0), supported(solver, *rims(shape)[:2]))
    x_m = np.linspace(0, 1, 501)
    beam = x_m * (1 - 2 * x_m**2 + x_m**3) / (24 * rigidity_nm(shape))
    assert np.abs(found.along_x(x_m, 0.05) - beam).max() < 1e-7 * beam.max()


def functions(solver: PlateSolver, x_m: Array, y_m: Array) -> list[Array]:
    at = solver.samples(x_m, y_m)
    return [matrix.toarray() for matrix in (at.value, at.dx, at.dy)]


def test_every_unknown_is_a_height_or_slope_at_its_own_grid_point_and_none_elsewhere() -> None:
    solver = solver_of(plain(0.4, 0.3, 0.01, 0.3), 0.1)
    x_m, y_m = solver.bending.mesh.p
    for kind, found in enumerate(functions(solver, x_m, y_m)):
        expected = np.zeros_like(found)
        expected[np.arange(len(x_m)), solver.bending.nodal_dofs[kind]] = 1.0
        assert found == pytest.approx(expected, abs=1e-12)


def test_heights_and_slopes_run_on_smoothly_from_cell_to_cell() -> None:
    solver = solver_of(plain(0.4, 0.3, 0.01, 0.3), 0.1)
    step, y_m = 1e-9, np.linspace(0.01, 0.29, 7)
    left, right = (functions(solver, np.full(7, 0.2 + s), y_m) for s in (-step, step))
    for one, other in zip(left, right, strict=True):
        assert one == pytest.approx(other, abs=3e-6)


def test_slopes_are_the_derivatives_of_heights() -> None:
    solver = solver_of(plain(0.4, 0.3, 0.01, 0.3), 0.1)
    random = np.random.default_rng(7)
    x_m, y_m, w = random.uniform(0, 0.4, 9), random.uniform(0, 0.3, 9), random.normal(size=80)
    step, at = 1e-6, solver.samples(x_m, y_m)
    for slope, dx, dy in ((at.dx, step, 0.0), (at.dy, 0.0, step)):
        up, down = (
            solver.samples(np.clip(x_m + s * dx, 0, 0.4), np.clip(y_m + s * dy, 0, 0.3)).value @ w
            for s in (1, -1)
        )
        assert (up - down) / (2 * step) == pytest.approx(slope @ w, rel=1e-4, abs=1e-5)


# Powers of x and y themselves would leave no right digit in the far corner's cell.
def test_any_bicubic_shape_is_held_exactly() -> None:
    solver = cornered()
    (x, y), nodes = solver.bending.mesh.p, solver.bending.nodal_dofs
    w = np.zeros(solver.bending.N)
    w[nodes[0]], w[nodes[1]] = x**3 * y**2, 3 * x**2 * y**2
    w[nodes[2]], w[nodes[3]] = 2 * x**3 * y, 6 * x**2 * y
    random = np.random.default_rng(3)
    x_m, y_m = np.column_stack([random.uniform(0, 1, (2, 20)), random.uniform(0.9998, 1, (2, 20))])
    assert solver.samples(x_m, y_m).value @ w == pytest.approx(x_m**3 * y_m**2, rel=1e-9)
