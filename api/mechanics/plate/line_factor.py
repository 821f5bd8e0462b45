"""Cholesky factor of a stiffness whose unknowns lie on lines, each coupled to the next line only.

With the unknowns ordered line by line, K is block tridiagonal: diagonal blocks A_i, blocks B_i below.
Its factor C has L_i on the diagonal and W_i below,

    L_i L_i' = A_i - W_{i-1} W_{i-1}',    W_i = B_i L_i^-T

all dense and small, so that many load cases are solved at the speed of dense products: cases times
lines times width squared. Half of a solution, h = C^-1 f, is often enough, as f' K^-1 g = h_f' h_g.
Source: block Cholesky factorisation (Golub and Van Loan, Matrix computations). Unknowns are scaled
to a unit diagonal first; the L_i are well conditioned then and are kept inverted.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.linalg import solve_triangular
from scipy.sparse import coo_array, csc_array

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True)
class LineFactor:
    """Factor on `lines` lines of `width` places; `place` (unknowns,) is where each unknown stands.

    `scale` (unknowns,) is 0 for held unknowns, whose solution is 0.
    """

    place: Ints
    scale: Array
    inverse: Array  # (lines, width, width), L_i^-1
    below: Array  # (lines - 1, width, width), W_i

    def half(self, loads: Array) -> Array:
        """h = C^-1 f for loads (unknowns, cases); (places, cases), in the order of the lines."""
        lines, width, _ = self.inverse.shape
        found = np.zeros((lines, width, loads.shape[1]))
        found.reshape(lines * width, -1)[self.place] = loads * self.scale[:, None]
        for i in range(lines):
            if i:
                found[i] -= self.below[i - 1] @ found[i - 1]
            found[i] = self.inverse[i] @ found[i]
        return found.reshape(lines * width, -1)

    def back(self, halves: Array) -> Array:
        """C^-T h, the solution for halves (places, cases); (unknowns, cases)."""
        lines, width, _ = self.inverse.shape
        found = halves.reshape(lines, width, -1).copy()
        for i in reversed(range(lines)):
            if i < lines - 1:
                found[i] -= self.below[i].T @ found[i + 1]
            found[i] = self.inverse[i].T @ found[i]
        solved = found.reshape(lines * width, -1)[self.place]
        return np.asarray(solved * self.scale[:, None])

    def solve(self, loads: Array) -> Array:
        """K^-1 f for loads (unknowns, cases) or (unknowns,), alike in shape; 0 for what is held."""
        cases = loads.reshape(len(loads), -1)
        return self.back(self.half(cases)).reshape(loads.shape)


def line_factor(stiffness: csc_array, line: Ints, held: Ints) -> LineFactor:
    """Factor of K (unknowns, unknowns), positive definite once `held` unknowns are kept at 0.

    `line` (unknowns,) numbers the lines from 0. Raises LinAlgError where K is not positive definite.
    """
    width = int(np.bincount(line).max())
    place = line * width + _rank_in_line(line)
    scale = 1 / np.sqrt(stiffness.diagonal())
    scale[held] = 0.0
    diagonal, under = _blocks(stiffness.tocoo(), place, scale, width)
    inverse, below = np.empty_like(diagonal), np.empty_like(under)
    identity = np.eye(width)
    for i, block in enumerate(diagonal):
        if i:
            below[i - 1] = under[i - 1] @ inverse[i - 1].T
            block = block - below[i - 1] @ below[i - 1].T
        inverse[i] = solve_triangular(
            np.linalg.cholesky(block), identity, lower=True, check_finite=False
        )
    return LineFactor(place, scale, inverse, below)


def lines_of(grid_m: Array, places_m: Array) -> Ints:
    """Number of the line of each place (2, k), on the lines of a grid's points (2, points).

    Lines run across the direction that has most of them. What lies between two counts with the
    line before it.
    """
    grids = [np.unique(along.round(12)) for along in grid_m]
    axis = int(len(grids[1]) > len(grids[0]))
    at = np.searchsorted(grids[axis], places_m[axis].round(12), side="right") - 1
    return np.asarray(at, dtype=np.int64)


def _rank_in_line(line: Ints) -> Ints:
    order = np.argsort(line, kind="stable")
    counts = np.bincount(line)
    rank = np.empty_like(order)
    rank[order] = np.arange(len(line)) - np.repeat(np.cumsum(counts) - counts, counts)
    return rank


def _blocks(matrix: coo_array, place: Ints, scale: Array, width: int) -> tuple[Array, Array]:
    """Scaled blocks on and below the diagonal; places that are held or empty stand alone."""
    lines = int(place.max()) // width + 1
    row, column = place[matrix.row], place[matrix.col]
    value = matrix.data * scale[matrix.row] * scale[matrix.col]
    step = row // width - column // width
    if np.abs(step[value != 0]).max(initial=0) > 1:
        raise ValueError("An unknown is coupled beyond the next line; number the lines anew.")
    shape = (lines, width, width)
    blocks = []
    for wanted in (0, 1):
        at = step == wanted
        flat = (column[at] // width * width + row[at] % width) * width + column[at] % width
        summed = np.bincount(flat, value[at], minlength=lines * width * width)
        blocks.append(np.asarray(summed, dtype=np.float64).reshape(shape))
    alone = np.ones(lines * width, dtype=bool)
    alone[place[scale > 0]] = False
    line, rank = np.divmod(np.flatnonzero(alone), width)
    blocks[0][line, rank, rank] = 1.0
    return blocks[0], blocks[1][:-1]
