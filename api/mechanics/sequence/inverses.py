"""Inverse compliance of the set of touching links, kept up as links touch and part.

When link k touches, H gains the rank-one term v v' / (A_kk - A_k h) with h = H A_k and v = e_k - h;
when it parts, H loses H_k H_k' / H_kk (bordering of an inverse; derived, checked against a direct
inverse). Outside the set H is zero. Both classes answer for a batch of runs, by row.
"""

from __future__ import annotations

from typing import Protocol

import numpy as np

from api.mechanics.sequence.interaction import Bools, Floats, Ints

FIRST_ROWS = 256
MOST_BYTES = 24_000_000


class Inverses(Protocol):
    """What a batch of runs asks of the inverses it stands on."""

    def rows_for(self, touching: Bools) -> Ints:
        """Rows for the sets (d, m)."""
        ...

    def column(self, rows: Ints, links: Ints) -> Floats:
        """H[:, link] of each row (k, m)."""
        ...

    def times(self, rows: Ints, push: Floats) -> Floats:
        """H push of each row, push (k, m)."""
        ...

    def opening(self, rows: Ints, link_n: Floats) -> Floats:
        """A f of each row, f (k, m)."""
        ...

    def toggle(self, rows: Ints, links: Ints) -> Ints:
        """Rows after one link of each has touched or parted (k,)."""
        ...


class SharedInverses:
    """All runs have the same compliance: each set met is inverted once and remembered."""

    def __init__(self, compliance: Floats) -> None:
        m = compliance.shape[0]
        self._compliance = compliance
        self._known: dict[bytes, int] = {}
        self._sets = np.zeros((FIRST_ROWS, m), dtype=np.bool_)
        self._stack = np.zeros((FIRST_ROWS, m, m))
        self._next = np.full((FIRST_ROWS, m), -1, dtype=np.int64)

    def __len__(self) -> int:
        return len(self._known)

    def forget_if_large(self) -> None:
        """Begin again in the same room rather than let it grow; rows given out before are void."""
        if len(self) * self._stack[0].nbytes > MOST_BYTES:
            self._known.clear()
            self._next[:] = -1

    def rows_for(self, touching: Bools) -> Ints:
        distinct, back = np.unique(touching, axis=0, return_inverse=True)
        rows = [self._row_of(inside) for inside in distinct]
        return np.asarray(rows, dtype=np.int64)[back.ravel()]

    def column(self, rows: Ints, links: Ints) -> Floats:
        return np.asarray(self._stack[rows, links], dtype=np.float64)

    def times(self, rows: Ints, push: Floats) -> Floats:
        return np.asarray(np.matmul(self._stack[rows], push[:, :, None])[:, :, 0], dtype=np.float64)

    def opening(self, rows: Ints, link_n: Floats) -> Floats:
        return np.asarray(link_n @ self._compliance, dtype=np.float64)

    def toggle(self, rows: Ints, links: Ints) -> Ints:
        after = self._next[rows, links]
        missing = after < 0
        if missing.any():
            m = self._compliance.shape[0]
            pairs = np.unique(rows[missing] * m + links[missing])
            self._learn(pairs // m, pairs % m)
            after = self._next[rows, links]
        return after

    def _learn(self, rows: Ints, links: Ints) -> None:
        """Sets one link away from those in `rows`: find them, or invert them all at once."""
        sets = self._sets[rows]
        sets[np.arange(rows.size), links] ^= True
        keys = [inside.tobytes() for inside in sets]
        fresh = {key: at for at, key in enumerate(keys) if key not in self._known}
        if fresh:
            at = np.fromiter(fresh.values(), dtype=np.int64)
            moved = self._stack[rows[at]]
            leaves = self._sets[rows[at], links[at]]
            _update(moved, leaves, links[at], self._compliance[links[at]])
            self._add(sets[at], moved)
        children = np.array([self._known[key] for key in keys])
        self._next[rows, links] = children
        self._next[children, links] = rows

    def _row_of(self, inside: Bools) -> int:
        known = self._known.get(inside.tobytes())
        if known is not None:
            return known
        self._add(inside[None, :], _inverse_on(self._compliance, inside)[None])
        return len(self) - 1

    def _add(self, sets: Bools, inverses: Floats) -> None:
        first = len(self)
        last = first + len(sets)
        while last > len(self._stack):
            self._grow()
        self._sets[first:last], self._stack[first:last] = sets, inverses
        self._known.update({inside.tobytes(): first + at for at, inside in enumerate(sets)})

    def _grow(self) -> None:
        self._sets = np.concatenate([self._sets, np.empty_like(self._sets)])
        self._stack = np.concatenate([self._stack, np.empty_like(self._stack)])
        self._next = np.concatenate([self._next, np.full_like(self._next, -1)])


class OwnInverses:
    """Each run d has its own compliance diag(own) + scale_d G and its own inverse, row d.

    Links get a place in the inverses when they first touch, so early updates are small ones.
    """

    def __init__(self, own: Floats, coupling: Floats, scale: Floats) -> None:
        m = own.size
        self._own, self._coupling, self._scale = own, coupling, scale
        self._used = np.zeros(0, dtype=np.int64)  # link at each place
        self._place = np.full(m, -1, dtype=np.int64)
        self._sets = np.zeros((scale.size, m), dtype=np.bool_)
        self._stack = np.zeros((scale.size, m, m))

    def rows_for(self, touching: Bools) -> Ints:
        self._give_places(np.flatnonzero(touching.any(axis=0)))
        self._sets = touching.copy()
        self._stack[:] = 0.0
        for row in np.flatnonzero(touching.any(axis=1)):
            compliance = np.diag(self._own) + self._scale[row] * self._coupling
            inverse = _inverse_on(compliance, touching[row])
            self._inverses[row] = inverse[np.ix_(self._used, self._used)]
        return np.arange(self._scale.size)

    def column(self, rows: Ints, links: Ints) -> Floats:
        column = np.zeros((rows.size, self._own.size))
        known = np.flatnonzero(self._place[links] >= 0)
        at = np.ix_(known, self._used)
        column[at] = self._inverses[rows[known], self._place[links[known]]]
        return column

    def times(self, rows: Ints, push: Floats) -> Floats:
        force = np.zeros_like(push)
        inner = push[:, self._used, None]
        force[:, self._used] = np.matmul(self._inverses[rows], inner)[:, :, 0]
        return force

    def opening(self, rows: Ints, link_n: Floats) -> Floats:
        shared = self._scale[rows, None] * (link_n @ self._coupling)
        return np.asarray(self._own * link_n + shared, dtype=np.float64)

    def toggle(self, rows: Ints, links: Ints) -> Ints:
        self._give_places(links)
        columns = self._scale[rows, None] * self._coupling[links]
        columns[np.arange(rows.size), links] += self._own[links]
        everyone = rows.size == self._scale.size
        moved = self._inverses if everyone else self._inverses[rows]
        _update(moved, self._sets[rows, links], self._place[links], columns[:, self._used])
        if not everyone:
            self._inverses[rows] = moved
        self._sets[rows, links] ^= True
        return rows

    @property
    def _inverses(self) -> Floats:
        """The part of the stack in use, a view."""
        return self._stack[:, : self._used.size, : self._used.size]

    def _give_places(self, links: Ints) -> None:
        new = np.unique(links[self._place[links] < 0])
        self._place[new] = self._used.size + np.arange(new.size)
        self._used = np.concatenate([self._used, new])


def _inverse_on(compliance: Floats, inside: Bools) -> Floats:
    at = np.flatnonzero(inside)
    inverse = np.zeros_like(compliance)
    inverse[np.ix_(at, at)] = np.linalg.inv(compliance[np.ix_(at, at)])
    return inverse


def _update(stack: Floats, leaves: Bools, links: Ints, columns: Floats) -> None:
    """Move each link of the stack (k, m, m) into or out of its set, in place."""
    every = np.arange(links.size)
    joining = -np.matmul(stack, columns[:, :, None])[:, :, 0]
    joining[every, links] += 1.0
    room = np.einsum("km,km->k", joining, columns)
    leaving = stack[every, links]
    vector = np.where(leaves[:, None], leaving, joining)
    weight = np.where(leaves, -leaving[every, links], room)
    stack += vector[:, :, None] * (vector / weight[:, None])[:, None, :]
    gone = np.flatnonzero(leaves)
    stack[gone, links[gone], :] = 0.0
    stack[gone, :, links[gone]] = 0.0
