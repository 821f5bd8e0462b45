"""Block tridiagonal Cholesky: a plate cut into slices across its length, each slice dense.

A slice is one row of elements with the plane of nodes that closes it, so a slice touches only
its neighbours; dense blocks keep the work in matrix products, and many right-hand sides cheap.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import cholesky, solve_triangular
from scipy.sparse import csc_matrix, csr_matrix

from tests.bench.solid.grid import Floats, Ints


@dataclass(frozen=True)
class Factor:
    """`order` lists free unknowns slice by slice; `join[i]` couples slice i+1 to the end of i."""

    size: int
    order: Ints
    ends: Ints
    diagonal: list[Floats]
    join: list[Floats]

    def solve(self, right: Floats) -> Floats:
        """Displacements [size, n] for forces [size, n]; fixed unknowns stay zero."""
        blocks = np.split(right[self.order], self.ends[1:-1])
        for i, lower in enumerate(self.diagonal):
            if i:
                blocks[i] = blocks[i] - self.join[i - 1] @ self.tail(blocks, i - 1)
            blocks[i] = solve_triangular(lower, blocks[i], lower=True, check_finite=False)
        for i in reversed(range(len(blocks))):
            if i + 1 < len(blocks):
                self.tail(blocks, i)[...] -= self.join[i].T @ blocks[i + 1]
            blocks[i] = solve_triangular(
                self.diagonal[i], blocks[i], lower=True, trans="T", check_finite=False
            )
        found = np.zeros((self.size, right.shape[1]))
        found[self.order] = np.concatenate(blocks)
        return found

    def tail(self, blocks: list[Floats], i: int) -> Floats:
        return blocks[i][-self.join[i].shape[1] :]


def factorise(matrix: csr_matrix, slice_of: Ints, along: Floats, fixed: Ints) -> Factor:
    """`slice_of` and `along` (the place in the slice) of every unknown; `fixed` ones are held."""
    free = np.setdiff1d(np.arange(matrix.shape[0]), fixed)
    order = free[np.lexsort((along[free], slice_of[free]))]
    ends = np.searchsorted(slice_of[order], np.arange(slice_of.max() + 2))
    sorted_matrix = matrix[order][:, order].tocsr()
    diagonal: list[Floats] = []
    join: list[Floats] = []
    for i in range(len(ends) - 1):
        own = slice(ends[i], ends[i + 1])
        block = sorted_matrix[own, own].toarray()
        if i:
            block -= join[-1] @ join[-1].T
        diagonal.append(cholesky(block, lower=True, overwrite_a=True, check_finite=False))
        if i + 2 < len(ends):
            beside = sorted_matrix[ends[i + 1] : ends[i + 2], own]
            join.append(joined(diagonal[-1], csc_matrix(beside)))
    return Factor(matrix.shape[0], order, ends, diagonal, join)


def joined(lower: Floats, beside: csc_matrix) -> Floats:
    """B L^-T, only its columns that are not zero: those of the plane shared with the neighbour."""
    first = int(np.flatnonzero(np.diff(beside.indptr))[0])
    reached = beside[:, first:].toarray()
    solved = solve_triangular(lower[first:, first:], reached.T, lower=True, check_finite=False)
    return np.ascontiguousarray(solved.T)
