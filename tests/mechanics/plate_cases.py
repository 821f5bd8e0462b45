"""Plates of the textbooks: supports along lines, line couples, even pressure, moments at a place."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.sparse.linalg import splu
from skfem import LinearForm, MeshQuad1, asm

from api.mechanics.plate.actions import Push
from api.mechanics.plate.rigidity import bending_rigidity
from api.mechanics.plate.shape import PlateShape
from api.mechanics.plate.solving import PlateSolver, solver_of
from api.mechanics.plate.stiffness import bending_basis, bending_stiffness, stretching_basis

Array = npt.NDArray[np.float64]
Numbers = npt.NDArray[np.int64]
E_PA = 68.9e9
NEAR_M = 1e-9


def plain(length_m: float, width_m: float, thickness_m: float, nu: float) -> PlateShape:
    """A weightless plate of aluminium's modulus."""
    return PlateShape(length_m, width_m, thickness_m, E_PA, nu, 0.0)


def on_lines(shape: PlateShape, x_m: Iterable[float], rows: int = 1) -> PlateSolver:
    """Grid lines across the plate at these places, and so many rows of cells along it."""
    across = np.linspace(0.0, shape.width_m, rows + 1)
    bending = bending_basis(MeshQuad1.init_tensor(np.array(list(x_m)), across))
    return PlateSolver(shape, bending, stretching_basis(bending), bending_stiffness(bending, shape))


def rigidity_nm(shape: PlateShape) -> float:
    """D = E t^3/[12 (1 - nu^2)]."""
    return shape.e_pa * shape.thickness_m**3 / (12 * (1 - shape.nu**2))


@dataclass(frozen=True)
class Edge:
    """A line x = at (`along` "y") or y = at (`along` "x") over the whole plate."""

    along: str
    at_m: float

    def nodes(self, solver: PlateSolver) -> Numbers:
        p = solver.bending.mesh.p
        return np.flatnonzero(np.abs(p[0 if self.along == "y" else 1] - self.at_m) < NEAR_M)


def rims(shape: PlateShape) -> tuple[Edge, Edge, Edge, Edge]:
    """Left, right, front, back."""
    return (Edge("y", 0.0), Edge("y", shape.length_m), Edge("x", 0.0), Edge("x", shape.width_m))


def supported(solver: PlateSolver, *edges: Edge) -> Numbers:
    """Unknowns held where a plate is simply supported: w and its slope along the line."""
    held = [
        solver.bending.nodal_dofs[[0, 2] if edge.along == "y" else [0, 1]][:, edge.nodes(solver)]
        for edge in edges
    ]
    return np.unique(np.concatenate([one.ravel() for one in held]))


def clamped(solver: PlateSolver, *edges: Edge) -> Numbers:
    """Unknowns held where a plate is built in: all four."""
    held = [solver.bending.nodal_dofs[:, edge.nodes(solver)].ravel() for edge in edges]
    return np.unique(np.concatenate(held))


def flat_across(solver: PlateSolver) -> Numbers:
    """Unknowns held so that the plate bends along x only: w,y and w,xy everywhere."""
    return np.asarray(solver.bending.nodal_dofs[2:].ravel())


@dataclass(frozen=True)
class Held:
    """Deflections over the unknowns, and the forces of what holds the plate."""

    solver: PlateSolver
    w: Array
    reaction: Array

    def at(self, x_m: float, y_m: float) -> float:
        return float((self.solver.samples(np.array([x_m]), np.array([y_m])).value @ self.w)[0])

    def along_x(self, x_m: Array, y_m: float) -> Array:
        return np.asarray(self.solver.samples(x_m, np.full(len(x_m), y_m)).value @ self.w)

    def push_n(self, edge: Edge) -> float:
        """All upward forces of a line of supports."""
        return float(
            self.reaction[self.solver.bending.nodal_dofs[0, edge.nodes(self.solver)]].sum()
        )


def held(solver: PlateSolver, loads: Array, at: Numbers) -> Held:
    """The plate with the unknowns `at` held at nothing."""
    stiffness = solver.stiffness
    free = np.setdiff1d(np.arange(solver.bending.N), at)
    w = np.zeros(solver.bending.N)
    w[free] = splu(stiffness[free][:, free].tocsc()).solve(loads[free])
    return Held(solver, w, np.asarray(stiffness @ w - loads))


def pressure(solver: PlateSolver, q_pa: float) -> Array:
    """Upward, even over the plate."""
    return np.asarray(asm(LinearForm(lambda v, _: q_pa * v), solver.bending))


def rows_across(solver: PlateSolver) -> tuple[Array, Array]:
    """Middles and half-widths of the grid's strips along x, from front to back."""
    lines = np.unique(solver.bending.mesh.p[1])
    return (lines[:-1] + lines[1:]) / 2, np.diff(lines) / 2


def pressing_line(solver: PlateSolver, x_m: float) -> Array:
    """One newton upward spread evenly over the line x."""
    middle, half = rows_across(solver)
    at = np.concatenate([middle - half / np.sqrt(3), middle + half / np.sqrt(3)])
    share = np.tile(half, 2) / solver.shape.width_m
    return solver.press_loads(np.full(len(at), x_m), at) @ share


def line_pushes(solver: PlateSolver, x_m: float, force_n: float, height_m: float) -> list[Push]:
    """A force along x spread evenly over the line x: exact, since each strip of the grid gets its own."""
    middle, half = rows_across(solver)
    return [
        Push(
            x_m,
            float(y),
            height_m,
            (force_n * float(h) * 2 / solver.shape.width_m, 0.0),
            0.0,
            0.0,
            float(h),
        )
        for y, h in zip(middle, half, strict=True)
    ]


def couple_loads(solver: PlateSolver, x_m: float, moment_nm: float) -> Array:
    """An even line couple across x with the sense of a force along +x above the plate."""
    force_n = moment_nm / (solver.shape.thickness_m / 2)
    return np.asarray(solver.push_loads(line_pushes(solver, x_m, force_n, 0.0))[0].sum(axis=1))


def edge_couples(solver: PlateSolver, moment_n: float, *, along: str) -> Array:
    """Couples per length that lift the middle, on the two rims x = 0, length ("y") or y = 0, width."""
    lines = np.unique(solver.bending.mesh.p[1 if along == "y" else 0])
    middle, half = (lines[:-1] + lines[1:]) / 2, np.diff(lines) / 2
    gauss = np.concatenate([middle - half / np.sqrt(3), middle + half / np.sqrt(3)])
    far = solver.shape.length_m if along == "y" else solver.shape.width_m
    weight, loads = np.tile(half, 2), np.zeros(solver.bending.N)
    for at_m, sign in ((0.0, 1.0), (far, -1.0)):
        line = np.full(len(gauss), at_m)
        slope = solver.samples(line, gauss).dx if along == "y" else solver.samples(gauss, line).dy
        loads += sign * moment_n * (slope.T @ weight)
    return loads


def moments_n(found: Held, x_m: float, y_m: float) -> Array:
    """(Mx, My, Mxy) per width at a place inside a cell, sagging positive for a push from below: -D w''."""
    basis, shape = found.solver.bending, found.solver.shape
    cell = basis.mesh.element_finder()(np.array([x_m]), np.array([y_m]))
    local = basis.mapping.invF(np.array([x_m, y_m])[:, None, None], tind=cell)
    second = np.zeros((2, 2))
    for i in range(basis.Nbfun):
        field = basis.elem.gbasis(basis.mapping, local, i, tind=cell)[0]
        second += np.asarray(field.hess)[:, :, 0, 0] * found.w[basis.element_dofs[i, cell[0]]]
    rigidity = bending_rigidity(shape, np.array([x_m]), np.array([y_m]))[:, :, 0]
    return np.asarray(rigidity @ np.array([-second[0, 0], -second[1, 1], -2 * second[0, 1]]))


def fine(shape: PlateShape, cells: int) -> PlateSolver:
    """Cells of equal size, `cells` along the longer side."""
    return solver_of(shape, max(shape.length_m, shape.width_m) / cells)
