"""Forms of scatter, beside the one that is used."""

from __future__ import annotations

import numpy as np

from api.mechanics.screws.values import Values, require_not_negative, require_positive
from api.mechanics.side_force.scatter import _require_alpha


def scatter_of_alpha(alpha_a: Values) -> Values:
    """p = (alpha_A - 1)/(alpha_A + 1)."""
    _require_alpha(alpha_a)
    return (alpha_a - 1) / (alpha_a + 1)


def alpha_of_log_sigma(sigma: Values, coverage: float = 2.0) -> Values:
    """alpha_A = exp(2 coverage sigma)."""
    require_not_negative("standard deviation", sigma)
    require_positive("coverage factor", coverage)
    return np.exp(sigma * (2 * coverage))


def log_sigma_of_relative(deviation: Values) -> Values:
    """sigma of ln F for a log-normal F of relative standard deviation V: sqrt(ln(1 + V^2))."""
    require_not_negative("relative standard deviation", deviation)
    return np.sqrt(np.log1p(np.square(deviation)))
