"""Safety factor as a probability: log-normal hold against log-normal cutting force."""

from math import exp, log, log1p, sqrt

from scipy.special import ndtr, ndtri

from api.mechanics.grip.contacts import GripError


def reliability_index(factor: float, hold_spread: float, load_spread: float) -> float:
    """β = ln(SF) / sqrt(ln(1 + Vh²) + ln(1 + Vc²)).

    factor: median hold over median load; spreads are coefficients of variation.
    Exact for independent log-normal hold and load. Raises GripError if nothing scatters.
    """
    return log(factor) / _log_spread(hold_spread, load_spread)


def slip_probability(factor: float, hold_spread: float, load_spread: float) -> float:
    """P = Φ(-β): estimated probability that the load exceeds the hold."""
    return float(ndtr(-reliability_index(factor, hold_spread, load_spread)))


def factor_for(probability: float, hold_spread: float, load_spread: float) -> float:
    """The factor of medians at which the load exceeds the hold with a given probability."""
    if not 0 < probability < 1:
        raise GripError("A probability must lie between 0 and 1.")
    return exp(-float(ndtri(probability)) * _log_spread(hold_spread, load_spread))


def any_of(probability: float, count: int) -> float:
    """Upper bound of the probability that any of several pieces slips: n P, at most 1."""
    return min(1.0, count * probability)


def _log_spread(hold_spread: float, load_spread: float) -> float:
    spread = sqrt(log1p(hold_spread**2) + log1p(load_spread**2))
    if not spread:
        raise GripError("Give hold or load a spread above 0.")
    return spread
