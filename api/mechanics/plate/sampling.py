"""Values and slopes of a plate's deflection anywhere, as matrices over its unknowns."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.sparse import csr_array
from skfem import CellBasis

from api.mechanics.plate.element import hermite

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Matrix = csr_array
# Which of value and slope the four unknowns of a corner are along x and along y: w, w,x, w,y, w,xy.
ALONG_X, ALONG_Y = [0, 1, 0, 1], [0, 0, 1, 1]


@dataclass(frozen=True)
class Samples:
    """Rows are places, columns unknowns; times the unknowns they give w, w,x and w,y."""

    value: Matrix
    dx: Matrix
    dy: Matrix


@dataclass(frozen=True)
class Cells:
    """Which cell lies between which grid lines, (columns, rows)."""

    x_lines_m: Array
    y_lines_m: Array
    number: Ints

    def at(self, x_m: Array, y_m: Array) -> Ints:
        """The cell at each place (k,); one on a line or the rim belongs to a cell it bounds."""
        column = np.searchsorted(self.x_lines_m, x_m, side="right") - 1
        row = np.searchsorted(self.y_lines_m, y_m, side="right") - 1
        last_column, last_row = np.array(self.number.shape) - 1
        return np.asarray(self.number[column.clip(0, last_column), row.clip(0, last_row)])


def samples(basis: CellBasis, x_m: Array, y_m: Array, cells: Cells | None = None) -> Samples:
    """Sampling matrices for places (k,) of bicubic rectangles; places on the rim count as inside.

    Products of the element's cubics along x and y. `cells` is `cells_of` that basis, where it is known.
    Raises ValueError for a place off the plate.
    """
    _refuse_outside(basis, x_m, y_m)
    at = (cells_of(basis) if cells is None else cells).at(x_m, y_m)
    corners = basis.mesh.p[:, basis.mesh.t[:, at]]
    x, slope_x = _cubics(x_m, corners[0])
    y, slope_y = _cubics(y_m, corners[1])
    columns = basis.element_dofs[:, at].T.ravel()
    starts = np.arange(len(at) + 1) * basis.Nbfun

    def matrix(along: Array, across: Array) -> Matrix:
        values = (along[ALONG_X] * across[ALONG_Y]).transpose(2, 1, 0)
        return csr_array((values.ravel(), columns, starts), shape=(len(at), basis.N))

    return Samples(matrix(x, y), matrix(slope_x, y), matrix(x, slope_y))


def cells_of(basis: CellBasis) -> Cells:
    p = basis.mesh.p
    x_lines, y_lines = np.unique(p[0].round(12)), np.unique(p[1].round(12))
    middles = p[:, basis.mesh.t].mean(axis=1)
    number = np.zeros((len(x_lines) - 1, len(y_lines) - 1), dtype=np.int64)
    column = np.searchsorted(x_lines, middles[0]) - 1
    row = np.searchsorted(y_lines, middles[1]) - 1
    number[column, row] = np.arange(basis.mesh.nelements)
    return Cells(x_lines, y_lines, number)


def _cubics(at_m: Array, corners_m: Array) -> tuple[Array, Array]:
    """Cubics for value and slope at each corner's end (2, 4, k), and their first derivatives."""
    low, high = corners_m.min(axis=0), corners_m.max(axis=0)
    size, far = high - low, corners_m > (low + high) / 2
    both = [hermite((at_m - low) / size, size, far, slope=slope) for slope in (False, True)]
    return np.array([cubic[0] for cubic in both]), np.array([cubic[1] for cubic in both])


def _refuse_outside(basis: CellBasis, x_m: Array, y_m: Array) -> None:
    low, high = basis.mesh.p.min(axis=1), basis.mesh.p.max(axis=1)
    slack = 1e-9 * (high - low).max()
    outside = (
        (x_m < low[0] - slack)
        | (x_m > high[0] + slack)
        | (y_m < low[1] - slack)
        | (y_m > high[1] + slack)
    )
    if outside.any():
        k = int(np.flatnonzero(outside)[0])
        raise ValueError(
            f"The place ({x_m[k] * 1e3:g}, {y_m[k] * 1e3:g}) mm lies off the plate; move it onto it."
        )
