"""Scatter of a force in its three usual forms, and as a standard deviation of its logarithm.

A tightening method is described by alpha_A = Fmax/Fmin or by plus and minus a share p about the
middle; a log-normal force by the standard deviation sigma of its logarithm. The sources fix no
coverage: here the extremes lie `coverage` standard deviations from the median, 2 unless told
(about 95 %), so sigma = ln(alpha_A)/(2 coverage).
"""

from __future__ import annotations

import math

import numpy as np

from api.mechanics.screws.values import Values, require, require_not_negative, require_positive


def alpha_of_scatter(scatter: Values) -> Values:
    """alpha_A = (1 + p)/(1 - p)."""
    require(
        (np.asarray(scatter) >= 0) & (np.asarray(scatter) < 1),
        "a scatter must be a share from 0 to below 1; write 15 % as 0.15",
    )
    return (1 + scatter) / (1 - scatter)


def log_sigma_of_alpha(alpha_a: Values, coverage: float = 2.0) -> Values:
    """sigma of ln F from alpha_A."""
    _require_alpha(alpha_a)
    require_positive("coverage factor", coverage)
    return np.log(alpha_a) / (2 * coverage)


def log_sigma_of_scatter(scatter: Values, coverage: float = 2.0) -> Values:
    """sigma of ln F from plus and minus p."""
    return log_sigma_of_alpha(alpha_of_scatter(scatter), coverage)


def rectangular(half_width: Values) -> Values:
    """Standard uncertainty of a value anywhere within plus and minus a limit (JCGM 100, 4.3.7)."""
    require_not_negative("half-width", half_width)
    return half_width / math.sqrt(3)


def _require_alpha(alpha_a: Values) -> None:
    require(
        np.isfinite(alpha_a) & (np.asarray(alpha_a) >= 1),
        "the ratio of the highest to the lowest force must be a number from 1 up; exchange the two",
    )
