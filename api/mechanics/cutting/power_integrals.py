"""Integrals of powers of the sine, exact."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from scipy.special import beta, betainc

Array = npt.NDArray[np.float64]


def sine_power_integral(power: float, upper_rad: Array | Sequence[float]) -> Array:
    """∫ sin^p φ dφ from 0 to each upper limit, p > -1, limits from 0 to π.

    With t = sin² φ it is ½ B(t; (p+1)/2, ½) up to π/2 and its mirror image beyond
    (incomplete beta function; NIST Handbook of Mathematical Functions, 8.17).
    """
    upper = np.asarray(upper_rad, dtype=np.float64)
    half = 0.5 * float(beta((power + 1) / 2, 0.5))
    part = half * np.asarray(betainc((power + 1) / 2, 0.5, np.sin(upper) ** 2), dtype=np.float64)
    return np.where(upper <= np.pi / 2, part, 2 * half - part)


def sine_power_cosine_integral(power: float, upper_rad: Array) -> Array:
    """∫ sin^p φ cos φ dφ from 0 to each upper limit: sin^(p+1) / (p+1)."""
    return np.asarray(np.sin(upper_rad) ** (power + 1) / (power + 1), dtype=np.float64)
