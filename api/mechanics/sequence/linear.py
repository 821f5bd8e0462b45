"""Linear response of the forces to turning one jack, as a tablet steps through it without a server.

Turning jack c by du with the links of the set S touching changes their forces by H_S J_c du, where
H_S = (diag(own) + G)_SS^-1. Divided by what jack c itself gains (the mean over its links), this is
the change per newton set at c: `link_carry` for the links, `carry` for the jacks, with unit diagonal.
Exact while no link parts or closes; checked against the complementary solution in `contact`.
"""

from __future__ import annotations

import numpy as np

from api.mechanics.sequence.interaction import Bools, Floats, Interaction


def link_carry(interaction: Interaction, touching: Bools | None = None) -> Floats:
    """Force change in each link per newton set at each jack (m, n).

    `touching` (m,) are the links in contact, all if none is given; a jack's own links always take
    part in its own column, because it is turned until they do. Links not touching get 0.
    """
    if touching is None:
        columns = interaction.stiffness_n_per_m @ interaction.presses
        gained = np.einsum("nm,mn->n", interaction.mean, columns)
        return np.asarray(columns / gained, dtype=np.float64)
    return np.stack(
        [_link_column(interaction, touching, c) for c in range(interaction.jacks)], axis=1
    )


def carry(interaction: Interaction, touching: Bools | None = None) -> Floats:
    """Force change in each jack per newton set at each jack (n, n), unit diagonal."""
    return np.asarray(interaction.mean @ link_carry(interaction, touching), dtype=np.float64)


def step(jack_n: Floats, jack: int, target_n: float, carry: Floats, *, clip: bool = True) -> Floats:
    """Forces (n,) after `jack` is turned until it clicks at `target_n`.

    A click wrench only raises: gain = max(0, target - present). Then every jack changes by its carry
    times the gain, and no force falls below 0 (a link parts), unless `clip` is off.
    """
    gain = max(0.0, target_n - float(jack_n[jack]))
    moved = jack_n + carry[:, jack] * gain
    return np.maximum(moved, 0.0) if clip else moved


def _link_column(interaction: Interaction, touching: Bools, jack: int) -> Floats:
    inside = np.flatnonzero(touching | (interaction.presses[:, jack] > 0))
    compliance = interaction.compliance_m_per_n[np.ix_(inside, inside)]
    column = np.zeros(interaction.links)
    column[inside] = np.linalg.solve(compliance, interaction.presses[inside, jack])
    return np.asarray(column / (interaction.mean[jack] @ column), dtype=np.float64)
