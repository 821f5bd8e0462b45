"""What to set on a torque tool for a target, and whether the tool suits the targets.

The tablet computes the same values; tests/vectors/units.json fixes both. All arithmetic is in
double precision, in this order:
    exact = target / (N·m per unit)            without an adapter
    exact = exact * L / (L + a)                L wrench length, a adapter length, in line
    n     = floor(exact / graduation + 0.5 + 1e-9)
    shown = n * graduation with the decimals of the graduation
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from api.domain.stores import TorqueTool
from api.domain.units import SCREEN, to_unit
from api.mechanics.screws.wrench import wrench_setting

LEAST_SHARE_OF_RANGE = 0.2
ROUNDING_PLAY = 1e-9


@dataclass(frozen=True)
class Refusal:
    """Why an item may not be used, in words for the person who chose it."""

    code: str
    message: str


def exact_setting(target_nm: float, tool: TorqueTool) -> float:
    """The setting in the tool's unit, corrected for an adapter in line, before rounding."""
    value = to_unit(target_nm, tool.unit)
    if tool.adapter is None:
        return value
    length, offset = tool.adapter.wrench_length_mm, tool.adapter.length_mm
    return wrench_setting(value, length, offset)


def set_value(target_nm: float, tool: TorqueTool) -> str:
    """The number to set, a multiple of the tool's graduation with just its decimals."""
    steps = math.floor(exact_setting(target_nm, tool) / tool.graduation + 0.5 + ROUNDING_PLAY)
    return f"{steps * tool.graduation:.{decimals_of(tool.graduation)}f}"


def decimals_of(graduation: float) -> int:
    """Decimals a graduation needs: 0.1 -> 1, 0.25 -> 2, 5 -> 0."""
    exponent = Decimal(repr(graduation)).normalize().as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 0


def usable_range(tool: TorqueTool) -> tuple[float, float]:
    """The part of the scale that may be used, in the tool's unit: 20 to 100 % of its top."""
    return max(tool.low, LEAST_SHARE_OF_RANGE * tool.high), tool.high


def range_refusals(tool: TorqueTool, targets_nm: Iterable[float]) -> list[Refusal]:
    """Targets whose setting falls outside the usable range: the lowest and the highest such."""
    settings = sorted(exact_setting(target, tool) for target in targets_nm)
    if not settings:
        return []
    low, high = usable_range(tool)
    unit, play = SCREEN[tool.unit], 1e-6 * high
    reach = f"{tool.serial} may be used from {low:.4g} to {high:.4g} {unit}"
    found = []
    if settings[0] < low - play:
        found.append(
            Refusal("below-range", f"{settings[0]:.3g} {unit} is below its range; {reach}")
        )
    if settings[-1] > high + play:
        found.append(
            Refusal("above-range", f"{settings[-1]:.3g} {unit} is above its range; {reach}")
        )
    return found


def suits(
    tool: TorqueTool, targets_nm: Iterable[float], today: dt.date, pulls: int | None = None
) -> list[Refusal]:
    """Every reason against using the tool today; none means it may be used.

    `pulls` is the count since calibration, confirmed pulls included; without it the count the tool
    came with is used.
    """
    count = tool.pulls_before if pulls is None else pulls
    found = []
    if tool.state == "withdrawn":
        found.append(Refusal("withdrawn", f"{tool.serial} is withdrawn; take another tool"))
    if today > tool.due:
        found.append(
            Refusal(
                "overdue-by-date",
                f"{tool.serial} was due for calibration on {tool.due.isoformat()}",
            )
        )
    if count >= tool.pulls_limit:
        found.append(
            Refusal(
                "overdue-by-pulls",
                f"{tool.serial} has made {count} pulls; it is due for calibration at {tool.pulls_limit}",
            )
        )
    return found + range_refusals(tool, targets_nm)
