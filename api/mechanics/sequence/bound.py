"""A loss that no order can beat, where every jack only unloads the others.

If H = (diag(own) + G)^-1 has no positive entry off its diagonal, then with any links touching,
pressing link j takes the share c_ij >= 0 of it from link i, and touching links only shield: c_ij is
least when all others touch (regression coefficients of a covariance whose inverse is an M-matrix;
Cochran's formula). So a jack loses at least w(c, k) to every jack k pulled after it in the final pass,
where k gains at least (last share - largest earlier share) of its target. The best order of this
relaxed problem, min over orders of max over c of sum of w(c, k) over k after c, puts first whichever
jack suffers least from all that remain (Lawler 1973), exactly.

For a jack with two links one link may part, so only half of the lesser of its two losses is counted.
"""

from __future__ import annotations

import numpy as np

from api.mechanics.sequence.interaction import Floats, Interaction, Ints

NEAR = 1e-12


def only_unloads(interaction: Interaction) -> bool:
    """Whether pulling a jack can only take from the others, whichever links touch.

    Asked of jacks with one or two links of their own: all of H off its diagonal 0 or negative, and
    both links of a jack gain when it is turned alone.
    """
    presses, stiffness = interaction.presses, interaction.stiffness_n_per_m
    if (presses > 0).sum(axis=1).max() > 1 or presses.sum(axis=0).max() > 2 or presses.max() > 1:
        return False
    off = stiffness - np.diag(np.diag(stiffness))
    return bool(off.max() <= NEAR * np.diag(stiffness).max() and _pairs_gain(interaction))


def loss_bound(interaction: Interaction, target_n: Floats, shares: Floats) -> float:
    """Least worst loss any order can reach with these shares; 0 where nothing can be proved."""
    earlier = float(shares[:-1].max(initial=0.0))
    if not only_unloads(interaction) or shares[-1] < 1.0 or earlier > shares[-1]:
        return 0.0
    gain_n = (float(shares[-1]) - earlier) * target_n
    worst = least_first(losses(interaction, gain_n) / target_n[:, None])[1]
    excess = float(shares[-1]) - 1.0
    return min(max(worst - excess, 0.0), 1.0)


def losses(interaction: Interaction, gain_n: Floats) -> Floats:
    """w (n, n): what jack c loses at least when jack k, all others touching, gains gain_n[k]."""
    stiffness = interaction.stiffness_n_per_m
    links = [np.flatnonzero(column) for column in interaction.presses.T]
    table = np.zeros((len(links), len(links)))
    for k, pulled in enumerate(links):
        both = np.linalg.inv(stiffness[np.ix_(pulled, pulled)])
        taken = -(stiffness[:, pulled] @ both).max(axis=1)  # per newton in the link that takes less
        for c, held in enumerate(links):
            if c != k:
                table[c, k] = taken[held].min() / held.size * pulled.size * gain_n[k]
    return table


def least_first(table: Floats) -> tuple[Ints, float]:
    """Order that minimises the largest row sum over later columns, and that largest sum."""
    left = list(range(len(table)))
    order, worst = [], 0.0
    while left:
        sums = table[np.ix_(left, left)].sum(axis=1)
        at = int(np.argmin(sums))
        worst = max(worst, float(sums[at]))
        order.append(left.pop(at))
    return np.array(order, dtype=np.int64), worst


def _pairs_gain(interaction: Interaction) -> bool:
    compliance = interaction.compliance_m_per_n
    pairs = [
        np.flatnonzero(column) for column in interaction.presses.T if np.count_nonzero(column) == 2
    ]
    return all(compliance[a, b] <= min(compliance[a, a], compliance[b, b]) for a, b in pairs)
