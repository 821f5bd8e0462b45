"""The mesh of a case: a box grid with its empty cells left out, and where a point lies in it."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.sparse import csr_matrix
from skfem import Basis, ElementHexS2, ElementVector, MeshHex
from skfem.refdom import RefHex

from tests.bench.solid.case import Box, Case

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
NEAR_MM = 1e-6
PLATE, EMPTY = 0, -1


@dataclass(frozen=True)
class Grid:
    """`cell` [nx, ny, nz] is an element's number or EMPTY; `part` is 0 plate, 1.. the bars."""

    lines_mm: tuple[Floats, Floats, Floats]
    cell: Ints
    part: Ints
    basis: Any

    @property
    def dofs(self) -> int:
        return int(self.basis.N)


def lines(breaks: set[float], longest: float) -> Floats:
    ends = sorted(breaks)
    pieces = [
        np.linspace(low, high, max(1, math.ceil((high - low) / longest - NEAR_MM)), endpoint=False)
        for low, high in itertools.pairwise(ends)
    ]
    return np.concatenate([*pieces, [ends[-1]]])


def grid_lines(case: Case) -> tuple[Floats, Floats, Floats]:
    length, width, thick = case.size_mm
    boxes = [bar.box for bar in case.bars] + list(case.pockets)
    across = {0.0, length}.union(*(box.x_mm for box in boxes))
    along = {0.0, width}.union(*(box.y_mm for box in boxes))
    down = {0.0, thick} | {thick - pocket.height_mm for pocket in case.pockets}
    up = lines(down, 1.2 * thick / 3)
    heights = {bar.box.height_mm for bar in case.bars}
    if heights:
        above = lines({thick} | {thick + height for height in heights}, max(heights) / 2)
        up = np.concatenate([up, above[1:]])
    return lines(across, case.plan_mesh_mm), lines(along, case.plan_mesh_mm), up


def inside(box: Box, low_mm: float, middles: list[Floats]) -> npt.NDArray[np.bool_]:
    x, y, z = np.meshgrid(*middles, indexing="ij")
    return np.asarray(
        (x > box.x_mm[0]) & (x < box.x_mm[1])
        & (y > box.y_mm[0]) & (y < box.y_mm[1])
        & (z > low_mm) & (z < low_mm + box.height_mm)
    )  # fmt: skip


def parts(case: Case, axes: tuple[Floats, Floats, Floats]) -> Ints:
    middles = [0.5 * (axis[1:] + axis[:-1]) for axis in axes]
    length, width, thick = case.size_mm
    part = np.full([len(middle) for middle in middles], EMPTY, dtype=np.int64)
    part[inside(Box((0, length), (0, width), thick), 0.0, middles)] = PLATE
    for pocket in case.pockets:
        part[inside(pocket, thick - pocket.height_mm, middles)] = EMPTY
    for number, bar in enumerate(case.bars, start=1):
        part[inside(bar.box, thick, middles)] = number
    return part


def build(case: Case) -> Grid:
    axes = grid_lines(case)
    full = MeshHex.init_tensor(*axes)
    middle = full.p[:, full.t].mean(axis=1)
    where = tuple(np.searchsorted(axis, middle[k]) - 1 for k, axis in enumerate(axes))
    part = parts(case, axes)
    kept = np.flatnonzero(part[where] != EMPTY)
    cell = np.full(part.shape, EMPTY, dtype=np.int64)
    cell[tuple(index[kept] for index in where)] = np.arange(kept.size)
    basis = Basis(full.restrict(kept), ElementVector(ElementHexS2()), intorder=3)
    return Grid(axes, cell, part[where][kept], basis)


def cells_of(grid: Grid, points: Floats) -> Ints:
    """The element of each point [3, n]; a point on a face belongs to any element it touches."""
    found = np.full(points.shape[1], EMPTY, dtype=np.int64)
    for nudge in itertools.product((-NEAR_MM, NEAR_MM), repeat=3):
        at = [
            np.searchsorted(axis, points[k] + nudge[k]) - 1 for k, axis in enumerate(grid.lines_mm)
        ]
        good = np.all([(a >= 0) & (a < n) for a, n in zip(at, grid.cell.shape, strict=True)], 0)
        here = np.full_like(found, EMPTY)
        here[good] = grid.cell[tuple(a[good] for a in at)]
        found = np.where(found == EMPTY, here, found)
    if (found == EMPTY).any():
        lost = points[:, found == EMPTY][:, 0]
        raise ValueError(f"No material at {lost} mm: move the point or load onto the plate.")
    return found


def values_at(grid: Grid, points: Floats, directions: Floats) -> csr_matrix:
    """Rows that give the displacement at each point [3, n] along its direction [3, n]."""
    cells = cells_of(grid, points)
    mesh = grid.basis.mesh
    corners = mesh.p[:, mesh.t[:, cells]]
    low, high = corners.min(axis=1), corners.max(axis=1)
    unit = np.vstack([(points - low) / (high - low), np.ones(points.shape[1])])
    local = own_axes(mesh) @ unit
    element = ElementHexS2()
    shape = np.array([element.lbasis(local, i)[0] for i in range(20)])
    weight = shape[:, None, :] * directions[None, :, :]
    columns = grid.basis.element_dofs[:, cells]
    rows = np.broadcast_to(np.arange(points.shape[1]), columns.shape)
    size = (points.shape[1], grid.dofs)
    flat = weight.reshape(60, -1).ravel()
    return csr_matrix((flat, (rows.ravel(), columns.ravel())), shape=size)


def own_axes(mesh: Any) -> Floats:
    """[3, 4]: an element's own coordinates from those of the box (the same for every element)."""
    corners = mesh.p[:, mesh.t[:, 0]]
    unit = (corners - corners.min(axis=1, keepdims=True)) / np.ptp(corners, axis=1)[:, None]
    return np.asarray(RefHex.p @ np.linalg.pinv(np.vstack([unit, np.ones(8)])))
