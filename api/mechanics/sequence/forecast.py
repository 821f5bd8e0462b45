"""Quick forecast of what many orders leave of each force, to choose which ones to judge exactly.

Every pull changes the jacks linearly, and no force falls below 0, so that a jack not yet pulled has
nothing to lose. In the first pass the share taken from jack c by
jack k lies between what it is with only those two touching and with all touching; it is interpolated
harmonically in the number of jacks touched, which is exact where all couplings are alike (share
G / (s + j G) with j touched), and linearly where the sign changes. Later passes use the full set.
The forecast ranks; nothing it says is reported.
"""

from __future__ import annotations

import numpy as np

from api.mechanics.sequence.interaction import Floats, Interaction, Ints
from api.mechanics.sequence.linear import carry


class Forecast:
    """Forecasts for one interaction, targets (n,) and shares (p,)."""

    def __init__(self, interaction: Interaction, target_n: Floats, shares: Floats) -> None:
        full = carry(interaction).T
        self._target_n, self._shares = target_n.astype(np.float32), shares.astype(np.float32)
        self._full = full.astype(np.float32)
        self._growing = between(carry_of_pairs(interaction).T, full).astype(np.float32)

    def losses(self, orders: Ints) -> Floats:
        """Loss of each jack's force as a share of its target after the last pass (d, n)."""
        force = np.zeros(orders.shape, dtype=np.float32)
        every = np.arange(len(orders))
        for at, share in enumerate(self._shares):
            for place, jacks in enumerate(orders.T):
                columns = self._growing[place, jacks] if at == 0 else self._full[jacks]
                gain = np.maximum(share * self._target_n[jacks] - force[every, jacks], 0.0)
                force += gain[:, None] * columns
                np.maximum(force, 0.0, out=force)
        return np.asarray(np.maximum(1 - force / self._target_n, 0.0), dtype=np.float64)


def between(pairs: Floats, full: Floats) -> Floats:
    """Carry with 1, 2 .. n jacks touched (n, n, n) from that of pairs and that of all."""
    n = len(full)
    part = np.clip((np.arange(n) - 1) / max(n - 2, 1), 0.0, 1.0)[:, None, None]
    linear = (1 - part) * pairs + part * full
    alike = pairs * full > 0
    inverse = (1 - part) / np.where(alike, pairs, 1.0) + part / np.where(alike, full, 1.0)
    return np.asarray(np.where(alike, 1 / inverse, linear), dtype=np.float64)


def carry_of_pairs(interaction: Interaction) -> Floats:
    """Change of jack c per newton set at jack k with only the links of those two touching (n, n)."""
    presses, compliance = interaction.presses, interaction.compliance_m_per_n
    most = int((presses > 0).sum(axis=0).max())
    own = np.argsort(-presses, axis=0, kind="stable")[:most].T  # (n, most), padded
    n = len(own)
    links = np.concatenate(
        [np.repeat(own[:, None], n, axis=1), np.repeat(own[None], n, axis=0)], axis=2
    )  # (c, k, 2 most)
    jack = np.repeat(np.stack(np.meshgrid(range(n), range(n), indexing="ij"), axis=2), most, axis=2)
    twice = (links[:, :, None, :most] == links[:, :, most:, None]).any(axis=3)
    counts = presses[links, jack] > 0
    counts[:, :, most:] &= ~twice | (presses[links[:, :, most:], jack[:, :, :most]] == 0)
    matrix = compliance[links[:, :, :, None], links[:, :, None, :]]
    matrix = np.where(counts[:, :, :, None] & counts[:, :, None, :], matrix, np.eye(2 * most))
    push = np.where(counts, presses[links, np.arange(n)[None, :, None]], 0.0)
    force = np.where(counts, np.linalg.solve(matrix, push[..., None])[..., 0], 0.0)
    change = (interaction.mean[np.arange(n)[:, None, None], links] * force).sum(axis=2)
    gained = (interaction.mean[np.arange(n)[None, :, None], links] * force).sum(axis=2)
    return np.asarray(change / gained, dtype=np.float64)
