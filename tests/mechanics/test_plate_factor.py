"""The factor by lines against a general sparse one, and the closed sampling against the element."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.sparse import csc_array
from scipy.sparse.linalg import splu

from api.mechanics.plate.line_factor import line_factor, lines_of
from api.mechanics.plate.sampling import samples
from api.mechanics.plate.shape import Bar, PlateShape, Pocket, Rectangle
from api.mechanics.plate.solving import PlateSolver, solver_of

SHAPES = {
    "long": PlateShape(
        0.45,
        0.3,
        0.025,
        69e9,
        0.33,
        2700.0,
        (Pocket(Rectangle(0.19, 0.04, 0.26, 0.11), 0.006),),
        (Bar(Rectangle(0.025, 0.03, 0.045, 0.27), 0.018, 69e9, 0.33, 2700.0, 0.5),),
    ),
    "wide": PlateShape(0.12, 0.4, 0.0127, 71e9, 0.33, 2800.0),
}


@pytest.fixture(params=sorted(SHAPES))
def solver(request: pytest.FixtureRequest) -> PlateSolver:
    return solver_of(SHAPES[request.param], 0.03)


def test_the_factor_by_lines_gives_what_a_general_factor_gives(solver: PlateSolver) -> None:
    loads = np.random.default_rng(1).normal(size=(solver.bending.N, 5))
    found = solver.deflections(loads)
    held = solver.bending.nodal_dofs[0, :][np.abs(found[solver.bending.nodal_dofs[0]]).max(1) == 0]
    assert len(held) == 3
    free = np.setdiff1d(np.arange(solver.bending.N), held)
    expected = splu(csc_array(solver.stiffness[free][:, free])).solve(loads[free])
    assert np.abs(found[free] - expected).max() < 1e-9 * np.abs(expected).max()


def test_products_of_halves_are_the_work_of_loads_on_each_others_deflections(
    solver: PlateSolver,
) -> None:
    loads = np.random.default_rng(2).normal(size=(solver.bending.N, 4))
    halves, deflections = solver.halves(loads), solver.deflections(loads)
    work = loads.T @ deflections
    assert np.abs(halves.T @ halves - work).max() < 1e-9 * np.abs(work).max()
    assert np.abs(solver.from_halves(halves) - deflections).max() == 0.0


def test_stretches_leave_no_force_over_away_from_what_is_held(solver: PlateSolver) -> None:
    p = solver.bending.mesh.p
    middle = np.argmin(np.hypot(*(p - p.mean(axis=1)[:, None])))
    loads = np.zeros((solver.stretching.N, 1))
    loads[solver.stretching.nodal_dofs[0, middle]] = 1.0
    moved = solver.stretches(loads)[:, 0]
    assert loads[:, 0] @ moved > 0
    assert np.count_nonzero(moved == 0.0) == 3


def test_an_unknown_coupled_beyond_the_next_line_is_refused() -> None:
    matrix = csc_array(np.eye(4) + np.fliplr(np.eye(4)) / 2)
    with pytest.raises(ValueError, match="next line"):
        line_factor(matrix, np.arange(4), np.array([1]))


def test_a_factor_of_a_held_chain_of_springs_gives_its_stretch() -> None:
    chain = csc_array(np.array([[1.0, -1, 0], [-1, 2, -1], [0, -1, 1]]))
    found = line_factor(chain, np.array([0, 1, 1]), np.array([0])).solve(np.array([0.0, 0.0, 3.0]))
    assert found == pytest.approx([0.0, 3.0, 6.0])


def test_places_between_two_lines_count_with_the_line_before_them() -> None:
    grid = np.array([[0.0, 1.0, 2.0, 0.0, 1.0, 2.0], [0.0, 0.0, 0.0, 5.0, 5.0, 5.0]])
    places = np.array([[0.0, 0.5, 1.0, 1.5, 2.0], [0.0, 5.0, 2.5, 0.0, 5.0]])
    assert lines_of(grid, places).tolist() == [0, 0, 1, 1, 2]
    assert lines_of(grid[::-1], places[::-1]).tolist() == [0, 0, 1, 1, 2]


def test_sampled_rows_are_the_elements_own_functions(solver: PlateSolver) -> None:
    rng, basis = np.random.default_rng(3), solver.bending
    cells, local = rng.integers(0, basis.mesh.nelements, 40), rng.uniform(0.05, 0.95, (2, 40, 1))
    x_m, y_m = np.asarray(basis.mapping.F(local, tind=cells))[:, :, 0]
    found = samples(basis, x_m, y_m)
    for i in range(basis.Nbfun):
        field = basis.elem.gbasis(basis.mapping, local, i, tind=cells)[0]
        columns = basis.element_dofs[i, cells]
        for matrix, expected in (
            (found.value, np.asarray(field)),
            (found.dx, np.asarray(field.grad)[0]),
            (found.dy, np.asarray(field.grad)[1]),
        ):
            rows = matrix.toarray()[np.arange(40), columns]
            assert rows == pytest.approx(expected[:, 0], rel=1e-10, abs=1e-13)
