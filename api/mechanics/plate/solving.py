"""A plate with its factorised stiffness: deflections for any number of load cases."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy.sparse import csc_array
from skfem import CellBasis, LinearForm, asm

from api.mechanics.plate.actions import Push, spots_of
from api.mechanics.plate.grid import grid_of
from api.mechanics.plate.line_factor import LineFactor, line_factor, lines_of
from api.mechanics.plate.rigidity import thickness_m, within
from api.mechanics.plate.sampling import Cells, Samples, cells_of, samples
from api.mechanics.plate.shape import PlateShape
from api.mechanics.plate.stiffness import (
    bending_basis,
    bending_stiffness,
    stretching_basis,
    stretching_stiffness,
)

Array = npt.NDArray[np.float64]
GRAVITY_M_S2 = 9.80665


@dataclass(frozen=True)
class PlateSolver:
    """Bending (w, up) and stretching (u, v) of one plate; build it with `solver_of`.

    Displacements are those of a plate held at three of its corners, which takes nothing but its
    rigid motion away as long as the loads balance; `rigid` (unknowns, 3) adds that motion again:
    up, and turns that raise w by x and by y.
    """

    shape: PlateShape
    bending: CellBasis
    stretching: CellBasis
    stiffness: csc_array

    @cached_property
    def rigid(self) -> Array:
        p, nodes = self.bending.mesh.p, self.bending.nodal_dofs
        modes = np.zeros((self.bending.N, 3))
        modes[nodes[0], 0] = 1.0
        modes[nodes[0], 1], modes[nodes[1], 1] = p[0], 1.0
        modes[nodes[0], 2], modes[nodes[2], 2] = p[1], 1.0
        return modes

    def deflections(self, loads: Array) -> Array:
        """w for loads (unknowns, cases), held at three corners, (unknowns, cases)."""
        return self._bending_factor.solve(loads)

    def halves(self, loads: Array) -> Array:
        """Half of the way to `deflections`, (places, cases): loads' works on each other's w are h'h."""
        return self._bending_factor.half(loads)

    def from_halves(self, halves: Array) -> Array:
        """The deflections that halves, or sums of them, lead to, (unknowns, cases)."""
        return self._bending_factor.back(halves)

    def stretches(self, loads: Array) -> Array:
        """u, v for loads in the plane (unknowns, cases), held against rigid motion."""
        return self._stretching_factor.solve(loads)

    def residual(self, w: Array, loads: Array) -> float:
        """Largest residual force over the largest load, of free unknowns: |K w - f|/|f|."""
        left = self.stiffness @ w - loads
        left[self._held] = 0.0
        return float(np.abs(left).max() / max(np.abs(loads).max(), 1e-300))

    def samples(self, x_m: Array, y_m: Array) -> Samples:
        """Asked again for the same places, as for points and seats, it gives the same matrices."""
        key = x_m.tobytes() + y_m.tobytes()
        if key not in self._known:
            self._known[key] = samples(self.bending, x_m, y_m, self._cells)
        return self._known[key]

    def push_loads(self, pushes: list[Push]) -> tuple[Array, Array]:
        """Loads of unit pushes for bending and for stretching, each (unknowns, pushes)."""
        spots = spots_of(
            pushes, self.shape.thickness_m / 2, (self.shape.length_m, self.shape.width_m)
        )
        at = self.samples(spots.x_m, spots.y_m)
        gather = csc_array(
            (np.ones(len(spots.owner)), (np.arange(len(spots.owner)), spots.owner)),
            shape=(len(spots.owner), len(pushes)),
        )
        bend = (
            at.value.T.multiply(spots.force[:, 2])
            + at.dx.T.multiply(spots.couple[:, 0])
            + at.dy.T.multiply(spots.couple[:, 1])
        )
        plane = _plane_samples(self.stretching, spots.x_m, spots.y_m)
        stretch = plane[0].T.multiply(spots.force[:, 0]) + plane[1].T.multiply(spots.force[:, 1])
        return (bend @ gather).toarray(), (stretch @ gather).toarray()

    def press_loads(self, x_m: Array, y_m: Array) -> Array:
        """Loads of unit upward forces at places, (unknowns, places)."""
        return np.asarray(self.samples(x_m, y_m).value.toarray().T)

    def weight_loads(self) -> Array:
        """The weight of plate and bars as one load case, (unknowns,)."""
        places = np.asarray(self.bending.global_coordinates())
        per_area = self.shape.density_kg_m3 * thickness_m(self.shape, places[0], places[1])
        for bar in self.shape.bars:
            per_area = per_area + within(bar.area, places[0], places[1]) * (
                bar.density_kg_m3 * bar.height_m
            )
        form = LinearForm(lambda v, _: -GRAVITY_M_S2 * per_area * v)
        return np.asarray(asm(form, self.bending))

    @cached_property
    def _known(self) -> dict[bytes, Samples]:
        return {}

    @cached_property
    def _cells(self) -> Cells:
        return cells_of(self.bending)

    @cached_property
    def _held(self) -> npt.NDArray[np.int64]:
        return np.asarray(self.bending.nodal_dofs[0, _corners(self.bending)])

    @cached_property
    def _bending_factor(self) -> LineFactor:
        grid, nodes = self.bending.mesh.p, self.bending.nodal_dofs
        line = np.zeros(self.bending.N, dtype=np.int64)
        line[nodes] = lines_of(grid, grid)
        return line_factor(self.stiffness, line, self._held)

    @cached_property
    def _stretching_factor(self) -> LineFactor:
        origin, far, _ = _corners(self.stretching)
        nodes = self.stretching.nodal_dofs
        held = np.array([nodes[0, origin], nodes[1, origin], nodes[1, far]])
        line = lines_of(self.stretching.mesh.p, self.stretching.doflocs)
        return line_factor(stretching_stiffness(self.stretching, self.shape), line, held)


def solver_of(shape: PlateShape, spacing_m: float) -> PlateSolver:
    bending = bending_basis(grid_of(shape, spacing_m))
    return PlateSolver(shape, bending, stretching_basis(bending), bending_stiffness(bending, shape))


def restiffened(solver: PlateSolver, shape: PlateShape) -> PlateSolver:
    """The same for a plate whose pockets and bars lie in the same places."""
    return replace(solver, shape=shape, stiffness=bending_stiffness(solver.bending, shape))


def _corners(basis: CellBasis) -> tuple[int, int, int]:
    """Grid points at the origin, at the far end of x and at the far end of y."""
    p = basis.mesh.p
    far_x, far_y = p[0].max(), p[1].max()
    return tuple(  # type: ignore[return-value]
        int(np.argmin(np.hypot(p[0] - x, p[1] - y))) for x, y in ((0, 0), (far_x, 0), (0, far_y))
    )


def _plane_samples(basis: CellBasis, x_m: Array, y_m: Array) -> tuple[csc_array, csc_array]:
    """Sampling matrices of u and of v at places, (places, unknowns)."""
    both = csc_array(basis.probes(np.array([x_m, y_m])))
    return both[: len(x_m)], both[len(x_m) :]
