"""Values and slopes of a plate's deflection anywhere, as matrices over its unknowns."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.sparse import csr_array
from skfem import CellBasis

Array = npt.NDArray[np.float64]
Matrix = csr_array


@dataclass(frozen=True)
class Samples:
    """Rows are places, columns unknowns; times the unknowns they give w, w,x and w,y."""

    value: Matrix
    dx: Matrix
    dy: Matrix


def samples(basis: CellBasis, x_m: Array, y_m: Array) -> Samples:
    """Sampling matrices for places (k,) of a scalar basis; places on the rim count as inside.

    Raises ValueError for a place off the plate.
    """
    cells, local = _locate(basis, x_m, y_m)
    rows, columns, values, dxs, dys = [], [], [], [], []
    places = np.arange(len(x_m))
    for i in range(basis.Nbfun):
        field = basis.elem.gbasis(basis.mapping, local, i, tind=cells)[0]
        rows.append(places)
        columns.append(basis.element_dofs[i, cells])
        values.append(np.asarray(field)[:, 0])
        grad = np.asarray(field.grad)
        dxs.append(grad[0, :, 0])
        dys.append(grad[1, :, 0])
    at = (np.concatenate(rows), np.concatenate(columns))
    size = (len(x_m), basis.N)
    return Samples(*(csr_array((np.concatenate(v), at), shape=size) for v in (values, dxs, dys)))


def _locate(basis: CellBasis, x_m: Array, y_m: Array) -> tuple[npt.NDArray[np.int64], Array]:
    p = basis.mesh.p
    low, high = p.min(axis=1), p.max(axis=1)
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
    x_lines, y_lines = np.unique(p[0].round(12)), np.unique(p[1].round(12))
    column = np.clip(np.searchsorted(x_lines, x_m, side="right") - 1, 0, len(x_lines) - 2)
    row = np.clip(np.searchsorted(y_lines, y_m, side="right") - 1, 0, len(y_lines) - 2)
    cells = _cell_table(basis, x_lines, y_lines)[column, row]
    local = basis.mapping.invF(np.array([x_m, y_m])[:, :, None], tind=cells)
    return cells, np.asarray(local)


def _cell_table(basis: CellBasis, x_lines: Array, y_lines: Array) -> npt.NDArray[np.int64]:
    middles = basis.mesh.p[:, basis.mesh.t].mean(axis=1)
    column = np.searchsorted(x_lines, middles[0]) - 1
    row = np.searchsorted(y_lines, middles[1]) - 1
    table = np.zeros((len(x_lines) - 1, len(y_lines) - 1), dtype=np.int64)
    table[column, row] = np.arange(basis.mesh.nelements)
    return table
