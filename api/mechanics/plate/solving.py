"""A plate with its factorised stiffness: deflections for any number of load cases."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy.sparse import csc_array
from scipy.sparse.linalg import SuperLU, splu
from skfem import CellBasis, LinearForm, asm

from api.mechanics.plate.actions import Push, spots_of
from api.mechanics.plate.grid import grid_of
from api.mechanics.plate.rigidity import thickness_m, within
from api.mechanics.plate.sampling import Samples, samples
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
        held = self.bending.nodal_dofs[0, _corners(self.bending)]
        return _solved(self._bending_factor, self._bending_free(held), loads)

    def stretches(self, loads: Array) -> Array:
        """u, v for loads in the plane (unknowns, cases), held against rigid motion."""
        return _solved(self._stretching_factor, self._stretching_free, loads)

    def residual(self, w: Array, loads: Array) -> float:
        """Largest residual force over the largest load, of free unknowns: |K w - f|/|f|."""
        rows = self._bending_free(self.bending.nodal_dofs[0, _corners(self.bending)])
        left = (self.stiffness @ w - loads)[rows]
        return float(np.abs(left).max() / max(np.abs(loads).max(), 1e-300))

    def samples(self, x_m: Array, y_m: Array) -> Samples:
        return samples(self.bending, x_m, y_m)

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

    def _bending_free(self, held: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
        return np.setdiff1d(np.arange(self.bending.N), held)

    @cached_property
    def _bending_factor(self) -> SuperLU:
        held = self.bending.nodal_dofs[0, _corners(self.bending)]
        return _factor(self.stiffness, self._bending_free(held))

    @cached_property
    def _stretching_free(self) -> npt.NDArray[np.int64]:
        origin, far, _ = _corners(self.stretching)
        nodes = self.stretching.nodal_dofs
        held = [nodes[0, origin], nodes[1, origin], nodes[1, far]]
        return np.setdiff1d(np.arange(self.stretching.N), held)

    @cached_property
    def _stretching_factor(self) -> SuperLU:
        return _factor(stretching_stiffness(self.stretching, self.shape), self._stretching_free)


def solver_of(shape: PlateShape, spacing_m: float) -> PlateSolver:
    bending = bending_basis(grid_of(shape, spacing_m))
    return PlateSolver(shape, bending, stretching_basis(bending), bending_stiffness(bending, shape))


def _corners(basis: CellBasis) -> tuple[int, int, int]:
    """Grid points at the origin, at the far end of x and at the far end of y."""
    p = basis.mesh.p
    far_x, far_y = p[0].max(), p[1].max()
    return tuple(  # type: ignore[return-value]
        int(np.argmin(np.hypot(p[0] - x, p[1] - y))) for x, y in ((0, 0), (far_x, 0), (0, far_y))
    )


def _factor(stiffness: csc_array, rows: npt.NDArray[np.int64]) -> SuperLU:
    return splu(
        csc_array(stiffness[rows][:, rows]), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0
    )


def _solved(factor: SuperLU, rows: npt.NDArray[np.int64], loads: Array) -> Array:
    found = np.zeros_like(loads)
    found[rows] = factor.solve(np.ascontiguousarray(loads[rows]))
    return found


def _plane_samples(basis: CellBasis, x_m: Array, y_m: Array) -> tuple[csc_array, csc_array]:
    """Sampling matrices of u and of v at places, (places, unknowns)."""
    both = csc_array(basis.probes(np.array([x_m, y_m])))
    return both[: len(x_m)], both[len(x_m) :]
