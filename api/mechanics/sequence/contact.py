"""Forces of links that can part, for given spreads of the jacks.

Linear complementarity: with A = diag(own) + G and b = J u - g,

    f >= 0,   w = A f - b >= 0,   f * w = 0       (w: gap of a link that does not touch)

A is symmetric positive definite, so the solution exists and is the only one. Solved by block
principal pivoting with Murty's least-index steps as the safeguard (Judice and Pires 1994), finite
for such matrices. Dense; meant for up to about a hundred links.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from api.mechanics.sequence.interaction import Bools, Floats, Interaction, InteractionError

BLOCK_TRIES = 4
ROUNDS_PER_LINK = 50


@dataclass(frozen=True, eq=False)
class Contact:
    """Forces and gaps of all links; `touching` is the set the forces were solved on."""

    link_n: Floats  # (m,)
    gap_m: Floats  # (m,)
    touching: Bools  # (m,)
    rounds: int


def solve_contact(
    interaction: Interaction, spread_m: Floats, touching: Bools | None = None, scale: float = 1.0
) -> Contact:
    """Forces and gaps for the spreads (n,); `touching` (m,) is a first guess; `scale` multiplies G."""
    compliance = scaled_compliance(interaction, scale)
    push = interaction.presses @ spread_m - interaction.gap_m
    return solve_complementary(compliance, np.asarray(push, dtype=np.float64), touching)


def scaled_compliance(interaction: Interaction, scale: float) -> Floats:
    """diag(own) + scale * G (m, m)."""
    own = np.diag(interaction.own_m_per_n)
    return np.asarray(own + scale * (interaction.compliance_m_per_n - own), dtype=np.float64)


def solve_complementary(
    compliance: Floats, push_m: Floats, touching: Bools | None = None
) -> Contact:
    """f, w of f >= 0, w = A f - b >= 0, f w = 0 for A (m, m) and b = push (m,)."""
    inside = push_m > 0 if touching is None else touching.copy()
    fewest, tries = push_m.size + 1, BLOCK_TRIES
    for count in range(1, ROUNDS_PER_LINK * (push_m.size + 1)):
        value = _signed(compliance, push_m, inside)
        wrong = _wrong(value, inside, compliance, push_m)
        if not wrong.any():
            return _contact(value, inside, count)
        many = int(wrong.sum())
        fewest, tries = (many, BLOCK_TRIES) if many < fewest else (fewest, tries - 1)
        inside ^= wrong if tries > 0 else _last_only(wrong)
    raise InteractionError(
        "The links part and close without settling: the compliances are near a mechanism."
    )


def _contact(value: Floats, inside: Bools, rounds: int) -> Contact:
    force = np.where(inside, np.maximum(value, 0.0), 0.0)
    gap = np.where(inside, 0.0, np.maximum(-value, 0.0))
    return Contact(force, gap, inside, rounds)


def _signed(compliance: Floats, push_m: Floats, inside: Bools) -> Floats:
    """Force of the links inside the set, minus the gap of those outside (m,)."""
    at = np.flatnonzero(inside)
    force = np.zeros(push_m.size)
    force[at] = np.linalg.solve(compliance[np.ix_(at, at)], push_m[at])
    return np.asarray(np.where(inside, force, push_m - compliance @ force), dtype=np.float64)


def _wrong(value: Floats, inside: Bools, compliance: Floats, push_m: Floats) -> Bools:
    length = 1e-13 * float(np.abs(push_m).max(initial=0.0))
    force = length / np.diag(compliance)
    return np.where(inside, value < -force, value > length)


def _last_only(wrong: Bools) -> Bools:
    only = np.zeros_like(wrong)
    only[np.flatnonzero(wrong)[-1]] = True
    return only
