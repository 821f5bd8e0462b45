"""What an indicator shows on the plates of the demonstration shop.

Clamps on top of a plate crown it, so every plate has its own habit of rising, more of it while
it is free than once it is locked; plate SAD-20-003 creeps at its first point, as a plate does
whose pads wear. Values come out in whole graduations, as a person reads them.
"""

from __future__ import annotations

from dataclasses import dataclass
from random import Random
from typing import Any

from api.domain.indicator_choice import graduation_mm
from api.domain.stores import Indicator
from api.domain.torque_setting import decimals_of
from api.use_cases.demo.times import CREEPING

CREEP_MM = 0.0005
MOST_CREEP = 0.75
CREEP_START = 0.15
HABIT = (0.2, 0.5)
SCATTER = 0.09
FREE_SHARE = 2.2
BEYOND = (1.15, 1.5)


@dataclass(frozen=True)
class Limits:
    """How far a point may rise where it is judged, and half its whole band, in millimetres."""

    high_mm: float
    half_mm: float


class Gauge:
    """Readings of one shop; `random` fixes the plates' habits."""

    def __init__(self, seed: int) -> None:
        self._seed = seed

    def shown(
        self, plate: str, sheet: dict[str, Any], step: dict[str, Any], nth: int, random: Random
    ) -> float:
        """What stands there, in millimetres, in the plate's `nth` setup."""
        point = next(one for one in sheet["points"] if one["id"] == step["subject"]["id"])
        limits = _limits(point)
        scatter_mm = max(-2.2, min(2.2, random.gauss(0, 1))) * SCATTER * limits.half_mm
        if step["state"] == "empty locked" and point["read"] != "empty locked":
            return scatter_mm
        if plate == CREEPING and point == sheet["points"][0]:
            level = CREEP_START * limits.high_mm + min(nth * CREEP_MM, MOST_CREEP * limits.high_mm)
        else:
            habit = Random(f"{self._seed}/{plate}/{point['id']}")  # noqa: S311 not for secrets
            level = habit.uniform(*HABIT) * limits.high_mm
        share = FREE_SHARE if step["state"] == "torqued free" else 1.0
        return level * share + scatter_mm


def beyond(step: dict[str, Any], random: Random) -> float:
    """A value out of the step's limits, in millimetres."""
    low, high = step["limits"]["low"], step["limits"]["high"]
    return float((low + high) / 2 + random.uniform(*BEYOND) * (high - low) / 2)


def as_read(value_mm: float, indicator: Indicator) -> str:
    """The value to the nearest graduation of the indicator, in its unit."""
    return in_marks(round(value_mm / graduation_mm(indicator)), indicator.graduation)


def beyond_as_read(step: dict[str, Any], indicator: Indicator, random: Random) -> str:
    """A value out of limits that is still out once it is read to a graduation."""
    graduation = graduation_mm(indicator)
    marks = round(beyond(step, random) / graduation)
    while marks * graduation <= step["limits"]["high"] + 1e-6:
        marks += 1
    return in_marks(marks, indicator.graduation)


def _limits(point: dict[str, Any]) -> Limits:
    low, high = point["low_mm"], point["high_mm"]
    return Limits(high, (high - low) / 2)


def in_marks(marks: int, graduation: float) -> str:
    """So many graduations as a decimal text with the graduation's own decimals."""
    return f"{marks * graduation + 0.0:.{decimals_of(graduation)}f}"
