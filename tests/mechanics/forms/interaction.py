"""Interaction coefficients of one pass, beside the passes themselves."""

from __future__ import annotations

import numpy as np

from api.mechanics.sequence.interaction import Floats, Interaction, InteractionError, Ints
from api.mechanics.sequence.linear import _link_column


def interaction_matrix(interaction: Interaction, order: Ints) -> Floats:
    """A with final = A @ first for one pass in this order (n, n), taking links to hold both ways.

    first (n,) is what each jack is set to in its turn, final what is left after the last one. A has
    a unit diagonal and is upper triangular once rows and columns are put in the order. Where a
    final force comes out below 0 the link has parted and only the complementary solution is right.
    """
    matrix = np.eye(interaction.jacks)
    touched = np.zeros(interaction.links, dtype=np.bool_)
    for place, jack in enumerate(order):
        touched = touched | (interaction.presses[:, jack] > 0)
        column = interaction.mean @ _link_column(interaction, touched, int(jack))
        before = order[: place + 1]
        matrix[before, jack] = column[before]
    return matrix


def compensated_targets(interaction: Interaction, order: Ints, target_n: Floats) -> Floats:
    """What to set each jack to in a single pass so that all end at `target_n`: A^-1 target (n,).

    Raises InteractionError if a jack would have to be set below 0. Whether each value is allowed
    (screw, thread, rating) is the caller's to check: early jacks are set above their target.
    """
    first = np.linalg.solve(interaction_matrix(interaction, order), target_n)
    if (first < 0).any():
        at = np.flatnonzero(first < 0).tolist()
        raise InteractionError(
            f"Jacks {at} gain more than their target from later ones. Use more passes."
        )
    return np.asarray(first, dtype=np.float64)
