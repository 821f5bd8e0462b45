"""A case made into equations: one factorisation, then any number of loads and states."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.bench.solid.case import Case
from tests.bench.solid.factor import Factor, factorise
from tests.bench.solid.grid import Floats, Grid, Ints, build, values_at
from tests.bench.solid.loads import push_row, upright
from tests.bench.solid.stiffness import stiffness

BALANCE = 1e-8


@dataclass(frozen=True)
class Model:
    case: Case
    grid: Grid
    factor: Factor
    rigid: Floats  # [dofs, 6]: three shifts, then turns about x, y and z

    def per_newton(self) -> Floats:
        """Nodal forces of every push, per newton, [dofs, pushes]."""
        return np.column_stack([push_row(self.grid, self.case, p) for p in self.case.pushes])

    def pushed(self) -> Floats:
        """Nodal forces of all pushes at their own force, [dofs]."""
        forces = np.array([push.force_n for push in self.case.pushes])
        return np.asarray(self.per_newton() @ forces)

    def free(self, forces: Floats) -> Floats:
        """Displacements of the free plate, but for a rigid motion; the forces must balance."""
        net = self.rigid.T @ forces
        if np.abs(net).max() > BALANCE * self.case.size_mm[0] * np.abs(forces).sum():
            raise ValueError(f"Forces on a free plate must balance; these leave {net}.")
        return self.factor.solve(forces)

    def deflection_um(self, moved: Floats, points_mm: tuple[tuple[float, float], ...]) -> Floats:
        """Upward, at half the plate's thickness."""
        x, y = np.array(points_mm).T
        points = np.vstack([x, y, np.full(x.size, self.case.size_mm[2] / 2)])
        return np.asarray(1000 * (values_at(self.grid, points, upright(x.size)) @ moved))

    def bow_um(self, moved: Floats, points_mm: tuple[tuple[float, float], ...]) -> Floats:
        """Deflection from the plane that fits the four corners best."""
        corners = self.case.corners_mm()
        plane, *_ = np.linalg.lstsq(planes(corners), self.deflection_um(moved, corners))
        return self.deflection_um(moved, points_mm) - planes(points_mm) @ plane


def planes(points_mm: tuple[tuple[float, float], ...]) -> Floats:
    x, y = np.array(points_mm).T
    return np.column_stack([np.ones(x.size), x, y])


def prepare(case: Case) -> Model:
    grid = build(case)
    place = np.asarray(grid.basis.doflocs)
    slice_of = np.maximum(np.searchsorted(grid.lines_mm[0], place[0] - 1e-6) - 1, 0)
    factor = factorise(stiffness(grid, case), slice_of, place[0], held(grid, case))
    return Model(case, grid, factor, rigid_motions(grid, place))


def rigid_motions(grid: Grid, place: Floats) -> Floats:
    axis = np.zeros(grid.dofs, dtype=np.int64)
    for one in range(3):
        axis[grid.basis.element_dofs[one::3]] = one
    shift = (axis[:, None] == np.arange(3)[None, :]).astype(np.float64)
    x, y, z = place
    about_x = -z * shift[:, 1] + y * shift[:, 2]
    about_y = z * shift[:, 0] - x * shift[:, 2]
    about_z = -y * shift[:, 0] + x * shift[:, 1]
    return np.column_stack([shift, about_x, about_y, about_z])


def held(grid: Grid, case: Case) -> Ints:
    """Six unknowns at three corners of the underside: just enough, so they carry nothing."""
    length, width, _ = case.size_mm
    place = np.asarray(grid.basis.doflocs)

    def at(x: float, y: float) -> Ints:
        away = np.abs(place - np.array([[x], [y], [0.0]])).max(axis=0)
        return np.asarray(np.sort(np.flatnonzero(away < 1e-6)), dtype=np.int64)

    here, there, beside = at(0.0, 0.0), at(length, 0.0), at(0.0, width)
    return np.concatenate([here, there[1:], beside[2:]])
