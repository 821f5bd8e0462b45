"""Angles up to which a wedge stays in with a slack screw."""

from __future__ import annotations

import numpy as np

from api.mechanics.screws.values import Values, require_friction


def self_locking_rad(mu: Values) -> Values:
    """Face angle alpha below which a wedge with two sliding inclined faces stays in: atan mu."""
    require_friction("wedge", mu)
    return np.arctan(mu)


def self_locking_one_face_rad(mu_inclined: Values, mu_parallel: Values) -> Values:
    """The same for one inclined and one parallel sliding face: rho1 + rho2."""
    require_friction("inclined face", mu_inclined)
    require_friction("parallel face", mu_parallel)
    return np.arctan(mu_inclined) + np.arctan(mu_parallel)
