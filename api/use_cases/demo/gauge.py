"""What an indicator shows on the plates of the demonstration shop.

It is what the design's analysis expects, with a habit of each plate's own and the scatter of every
setup; so history and estimate agree as far as the estimate's band says. Plate SAD-20-003 creeps at
its first point once it is locked, as a plate does whose pads wear. Values come out in whole
graduations, as a person reads them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from random import Random
from typing import Any

from api.domain.analyses.result import PointResult
from api.domain.designs.document import State
from api.domain.indicator_choice import graduation_mm
from api.domain.stores import Indicator
from api.domain.torque_setting import decimals_of
from api.use_cases.demo.times import CREEPING

CREEP_MM = 0.0005
MOST_CREEP = 0.9  # of the limit it creeps towards
HABIT = 0.4  # of half the band, either way
SCATTER = 0.25  # of half the band, one standard deviation
OTHER_BAND = 0.12  # half of it, of what is usual in a state that is not judged
BEYOND = (1.15, 1.5)
REACH = 1.3


@dataclass(frozen=True)
class Usual:
    """What is expected at a point in a state, and half its band, in millimetres."""

    level_mm: float
    half_mm: float


class Gauge:
    """Readings of one shop; `seed` fixes the plates' habits."""

    def __init__(self, seed: int) -> None:
        self._seed = seed

    def shown(
        self,
        plate: str,
        sheet: dict[str, Any],
        expected: Mapping[str, PointResult],
        step: dict[str, Any],
        nth: int,
        random: Random,
    ) -> float:
        """What stands there, in millimetres, in the plate's `nth` setup."""
        point = next(one for one in sheet["points"] if one["id"] == step["subject"]["id"])
        usual = _usual(expected[point["id"]], point, step["state"])
        habit = Random(f"{self._seed}/{plate}/{point['id']}")  # noqa: S311 not for secrets
        level_mm = usual.level_mm + habit.uniform(-HABIT, HABIT) * usual.half_mm
        scatter = max(-2.2, min(2.2, random.gauss(0, 1))) * SCATTER
        first = point == sheet["points"][0]
        if plate == CREEPING and first and step["state"] == "torqued locked":
            level_mm += min(nth * CREEP_MM, max(0.0, MOST_CREEP * point["high_mm"] - level_mm))
        return level_mm + scatter * usual.half_mm


def _usual(result: PointResult, point: dict[str, Any], state: State) -> Usual:
    """The band is the estimate's own where the point is judged."""
    band_half_mm = (result.reading_um.high - result.reading_um.low) / 2e3
    if state == point["read"]:
        return Usual(result.reading_um.usual / 1e3, band_half_mm)
    if state == "empty locked":
        return Usual(0.0, band_half_mm)
    level_mm = (result.state_um[state] - result.state_um[point["zero"]]) / 1e3
    return Usual(level_mm, OTHER_BAND * abs(level_mm))


def follows(indicator: Indicator, expected: Mapping[str, PointResult]) -> bool:
    """Whether its travel lets it follow every point through all states."""
    spans = [max(one.state_um.values()) - min(one.state_um.values()) for one in expected.values()]
    travel_mm = indicator.travel / indicator.graduation * graduation_mm(indicator)
    return travel_mm >= REACH * max(spans, default=0.0) / 1e3


def beyond(step: dict[str, Any], random: Random) -> float:
    """A value out of the step's limits, in millimetres, on the side where readings usually lie."""
    low, high = step["limits"]["low"], step["limits"]["high"]
    side = -1 if step["expected"]["usual_mm"] < (low + high) / 2 else 1
    return float((low + high) / 2 + side * random.uniform(*BEYOND) * (high - low) / 2)


def as_read(value_mm: float, indicator: Indicator) -> str:
    """The value to the nearest graduation of the indicator, in its unit."""
    return in_marks(round(value_mm / graduation_mm(indicator)), indicator.graduation)


def beyond_as_read(step: dict[str, Any], indicator: Indicator, random: Random) -> str:
    """A value out of limits that is still out once it is read to a graduation."""
    graduation = graduation_mm(indicator)
    value_mm, limits = beyond(step, random), step["limits"]
    marks = round(value_mm / graduation)
    while limits["low"] - 1e-6 <= marks * graduation <= limits["high"] + 1e-6:
        marks += 1 if value_mm > limits["high"] else -1
    return in_marks(marks, indicator.graduation)


def in_marks(marks: int, graduation: float) -> str:
    """So many graduations as a decimal text with the graduation's own decimals."""
    return f"{marks * graduation + 0.0:.{decimals_of(graduation)}f}"
