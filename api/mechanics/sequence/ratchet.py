"""Turning jacks one after another on links that can part, for a batch of runs at once, exactly.

While jack c is turned every other spread stays. The forces and gaps are piecewise linear in its
spread, so each pull is followed from corner to corner: at a corner one link touches or parts, and
the inverse of the touching set is brought up to date. With the signed state z (force of a link that
touches, minus the gap of one that does not)

    dz/du_c = H_S J_c                      on touching links
            = J_c - A H_S J_c              on the others

the pull ends when the mean force over the jack's links is its target. A click wrench cannot lower
a force: a jack at or above its target is not turned. Turning always raises the mean (H_S is positive
definite), so every pull ends. d runs, m links, n jacks. Derived; checked against `contact`.
"""

from __future__ import annotations

from collections.abc import Iterator
from copy import copy
from dataclasses import dataclass

import numpy as np

from api.mechanics.sequence.contact import scaled_compliance, solve_contact
from api.mechanics.sequence.interaction import Bools, Floats, Interaction, InteractionError, Ints
from api.mechanics.sequence.inverses import Inverses, OwnInverses, SharedInverses

STILL = 1e-12  # a rate below this, in scaled units, moves nothing
AT_TARGET = 1e-12  # of the target
CORNERS_PER_LINK = 20


@dataclass(frozen=True)
class Pull:
    """One jack of every run has been pulled."""

    pass_index: int
    place: int
    jacks: Ints  # (d,)
    before_n: Floats  # (d,) force of the jack just before
    turned_m: Floats  # (d,) spread gained


class Ratchet:
    """State of d runs: signed state of the links, spreads, and the touching sets."""

    def __init__(
        self,
        interaction: Interaction,
        runs: int,
        *,
        scale: Floats | None = None,
        inverses: SharedInverses | None = None,
    ) -> None:
        self._it = interaction
        self.unit_m_per_n = unit_compliance(interaction)
        self._tables: Inverses = _tables(interaction, self.unit_m_per_n, scale, inverses)
        self._rates = _Presses(interaction)
        self._scale = scale
        self.spread = np.zeros((runs, interaction.jacks))
        self._stand(np.zeros((runs, interaction.links), dtype=np.bool_))
        if (interaction.gap_m < 0).any():
            self.start_from(self.spread)

    @property
    def link_n(self) -> Floats:
        """Forces in the links now (d, m)."""
        return np.where(self.touching, np.maximum(self.signed, 0.0), 0.0)

    @property
    def spread_m(self) -> Floats:
        return self.spread * self.unit_m_per_n

    def start_from(self, spread_m: Floats) -> None:
        """Put the jacks at these spreads (d, n) and let the links settle."""
        self.spread = spread_m / self.unit_m_per_n
        inside = np.zeros_like(self.touching)
        distinct, back = np.unique(self._keys(spread_m), axis=0, return_inverse=True)
        for at, key in enumerate(distinct):
            scale = 1.0 if self._scale is None else float(key[-1])
            found = solve_contact(self._it, key[: self._it.jacks], scale=scale)
            inside[back.ravel() == at] = found.touching
        self._stand(inside)

    def pulls(
        self, targets_n: Floats, shares: Floats, orders: Ints, stick: float = 0.0
    ) -> Iterator[Pull]:
        """Pull every jack once per pass; targets and orders (d, n), shares of the targets (p,).

        A jack that already has more than 1 - `stick` of what is set does not break away.
        """
        every = np.arange(orders.shape[0])
        for pass_index, share in enumerate(shares):
            for place in range(orders.shape[1]):
                jacks = orders[:, place]
                before_n, turned_m = self.pull(jacks, share * targets_n[every, jacks], stick)
                yield Pull(pass_index, place, jacks, before_n, turned_m)
            self.refresh()

    def fork(self, parents: Ints) -> Ratchet:
        """Runs that go on from these runs (k,) as they stand; only where no run has its own scale."""
        branch = copy(self)
        branch.spread, branch.signed = self.spread[parents], self.signed[parents]
        branch.touching, branch.rows = self.touching[parents], self.rows[parents]
        return branch

    def pull(self, jacks: Ints, goal_n: Floats, stick: float = 0.0) -> tuple[Floats, Floats]:
        """Turn one jack of each run (d,) to its goal (d,); its force before, and what it was turned [m]."""
        before_n = np.einsum("dm,dm->d", self.link_n, self._it.mean[jacks])
        start = self.spread.copy()
        live = np.flatnonzero(before_n < goal_n * (1 - max(stick, AT_TARGET)))
        for _ in range(CORNERS_PER_LINK * (self._it.links + 1)):
            if live.size == 0:
                turned = (self.spread - start)[np.arange(jacks.size), jacks]
                return before_n, turned * self.unit_m_per_n
            live = self._to_corner(live, jacks[live], goal_n[live])
        raise InteractionError(
            f"Links part and touch without end while a jack is turned (condition number "
            f"{self._it.condition:.1e}): the compliances are near a mechanism."
        )

    def _to_corner(self, live: Ints, jacks: Ints, goal_n: Floats) -> Ints:
        """Turn until the target or until a link touches or parts; which runs are not done yet."""
        inside, signed = self.touching[live], self.signed[live]
        rate = self._rates.of(self._tables, self.rows[live], inside, jacks)
        weight = self._it.mean[jacks] * inside
        short = goal_n - np.einsum("dm,dm->d", np.maximum(signed, 0.0), weight)
        gain = np.einsum("dm,dm->d", rate, weight)
        full = np.full(live.size, np.inf)
        np.divide(np.maximum(short, 0.0), gain, out=full, where=gain > STILL)
        crossing = np.full(signed.shape, np.inf)
        np.divide(-signed, rate, out=crossing, where=np.where(inside, rate < -STILL, rate > STILL))
        link = np.argmin(crossing, axis=1)
        first = np.maximum(crossing[np.arange(live.size), link], 0.0)
        corner = first < full
        way = np.where(corner, first, full)
        self.signed[live] = signed + way[:, None] * rate
        self.spread[live, jacks] += way
        self._cross(live[corner], link[corner])
        return np.asarray(live[corner], dtype=np.int64)

    def _cross(self, runs: Ints, links: Ints) -> None:
        if runs.size:
            self.rows[runs] = self._tables.toggle(self.rows[runs], links)
            self.touching[runs, links] ^= True
            self.signed[runs, links] = 0.0

    def _stand(self, touching: Bools) -> None:
        self.touching = touching
        self.rows = self._tables.rows_for(touching)
        self.refresh()

    def refresh(self) -> None:
        """State from the spreads again, so that rounding does not pile up over the passes."""
        push = self.spread @ self._it.presses.T - self._it.gap_m / self.unit_m_per_n
        force = self._tables.times(self.rows, push)
        opening = self._tables.opening(self.rows, force)
        self.signed = np.where(self.touching, force, np.minimum(push - opening, 0.0))

    def _keys(self, spread_m: Floats) -> Floats:
        if self._scale is None:
            return spread_m
        return np.concatenate([spread_m, self._scale[:, None]], axis=1)


class _Presses:
    """Columns of J as the few links each jack presses, padded with weight 0."""

    def __init__(self, interaction: Interaction) -> None:
        presses = interaction.presses
        most = int((presses > 0).sum(axis=0).max())
        self._links = np.argsort(-presses, axis=0, kind="stable")[:most].T  # (n, most)
        self._weights = np.take_along_axis(presses.T, self._links, axis=1)
        self._columns = presses.T.copy()

    def of(self, tables: Inverses, rows: Ints, inside: Bools, jacks: Ints) -> Floats:
        """dz/du of each run for the jack it turns (k, m)."""
        links, weights = self._links[jacks], self._weights[jacks]
        force = weights[:, :1] * tables.column(rows, links[:, 0])
        for at in range(1, links.shape[1]):
            force += weights[:, at : at + 1] * tables.column(rows, links[:, at])
        outside = self._columns[jacks] - tables.opening(rows, force)
        return np.where(inside, force, outside)


def unit_compliance(interaction: Interaction) -> float:
    """Compliance of an average link against a small push [m/N]; makes the rates about one."""
    return float(1 / np.mean(np.diag(interaction.stiffness_n_per_m)))


def shared_inverses(interaction: Interaction) -> SharedInverses:
    """An empty memory of inverses for many batches on one interaction."""
    return SharedInverses(scaled_compliance(interaction, 1.0) / unit_compliance(interaction))


def _tables(
    it: Interaction, unit: float, scale: Floats | None, inverses: SharedInverses | None
) -> Inverses:
    if scale is None:
        return shared_inverses(it) if inverses is None else inverses
    coupling = it.compliance_m_per_n - np.diag(it.own_m_per_n)
    return OwnInverses(it.own_m_per_n / unit, coupling / unit, scale)
