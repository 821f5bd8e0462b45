"""Orders to begin with: row by row, and others that hands or couplings suggest."""

from __future__ import annotations

import numpy as np

from api.mechanics.sequence.bound import least_first
from api.mechanics.sequence.interaction import Floats, Interaction, Ints
from api.mechanics.sequence.linear import carry

ROW_GAP_M = 5e-3  # jacks nearer than this across are in one row


def row_by_row(positions_m: Floats) -> Ints:
    """Rows from low y to high y, each from low x to high x (n,)."""
    return np.concatenate(
        [row[np.argsort(positions_m[row, 0], kind="stable")] for row in _rows(positions_m)]
    )


def back_and_forth(positions_m: Floats) -> Ints:
    """Rows from low y to high y, every second one from high x to low x (n,)."""
    rows = [row[np.argsort(positions_m[row, 0], kind="stable")] for row in _rows(positions_m)]
    return np.concatenate([row[::-1] if at % 2 else row for at, row in enumerate(rows)])


def nearest_next(positions_m: Floats, first: int) -> Ints:
    """From `first`, always on to the nearest jack not yet pulled (n,)."""
    return _greedy(positions_m, first, farthest=False)


def farthest_next(positions_m: Floats, first: int) -> Ints:
    """From `first`, always on to the jack farthest from all pulled so far (n,)."""
    return _greedy(positions_m, first, farthest=True)


def least_taken_first(interaction: Interaction, target_n: Floats) -> Ints:
    """First whoever loses least to all that remain, all links touching (n,)."""
    taken = np.maximum(-carry(interaction), 0.0) * target_n[None, :] / target_n[:, None]
    np.fill_diagonal(taken, 0.0)
    return least_first(taken)[0]


def first_guesses(interaction: Interaction, target_n: Floats, positions_m: Floats) -> Ints:
    """Row by row first, then other plausible orders and their reverses, each once (d, n)."""
    turned = positions_m[:, ::-1]
    from_middle = np.linalg.norm(positions_m - positions_m.mean(axis=0), axis=1)
    middle, edge = int(np.argmin(from_middle)), int(np.argmax(from_middle))
    forward = [
        row_by_row(positions_m),
        back_and_forth(positions_m),
        row_by_row(turned),
        back_and_forth(turned),
        np.argsort(np.round(from_middle, 6), kind="stable"),
        nearest_next(positions_m, middle),
        nearest_next(positions_m, edge),
        farthest_next(positions_m, middle),
        farthest_next(positions_m, edge),
        least_taken_first(interaction, target_n),
    ]
    both = np.array([order for way in forward for order in (way, way[::-1])], dtype=np.int64)
    _, first = np.unique(both, axis=0, return_index=True)
    return both[np.sort(first)]


def _rows(positions_m: Floats) -> list[Ints]:
    by_y = np.argsort(positions_m[:, 1], kind="stable")
    gaps = np.diff(positions_m[by_y, 1]) > ROW_GAP_M
    return np.split(by_y, np.flatnonzero(gaps) + 1)


def _greedy(positions_m: Floats, first: int, *, farthest: bool) -> Ints:
    hops = np.linalg.norm(positions_m[:, None] - positions_m[None], axis=2)
    order, near = [first], hops[first].copy()
    left = np.ones(len(hops), dtype=np.bool_)
    left[first] = False
    while left.any():
        away = near if farthest else -hops[order[-1]]
        order.append(int(np.argmax(np.where(left, np.round(away, 9), -np.inf))))
        left[order[-1]] = False
        near = np.minimum(near, hops[order[-1]])
    return np.array(order, dtype=np.int64)
