"""Round steps for lines, ticks and bands of colour."""

from __future__ import annotations

import math
from collections.abc import Iterator

ROUND = (1.0, 2.0, 5.0)
FLAT_UM = 1.0


def round_step(span: float, most: int) -> float:
    """The smallest of ... 1, 2, 5, 10, 20, 50 ... that divides `span` into at most `most`; span > 0."""
    wanted = span / most
    decade = 10.0 ** math.floor(math.log10(wanted))
    tops = (decade * each for each in (*ROUND, 10.0))
    return next(step for step in tops if step >= wanted * (1 - 1e-9))


def line_step(span: float, most: int, band: float) -> float:
    """A round step that cuts `span` into at most `most`, and of which a band holds a whole number."""
    shares = (band / (part * 10**decade) for decade in range(6) for part in (1, 2, 4, 5, 25))
    fitting = [step for step in shares if span / step <= most and _is_round(step)]
    return min(fitting, default=band)


def _is_round(step: float) -> bool:
    """1, 2 or 5 with any number of zeros, or a whole number of fives: 25, 250."""
    lead = step / 10.0 ** math.floor(math.log10(step) + 1e-9)
    return any(abs(lead - each) < 1e-6 for each in ROUND) or abs(step / 5 - round(step / 5)) < 1e-6


def multiples(low: float, high: float, step: float) -> Iterator[float]:
    """The multiples of `step` from `low` to `high`, both included."""
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return (count * step for count in range(first, last + 1))
