"""Whether an indicator can judge its limits. The tablet applies the same rule (choice.json).

The ratio is limit width over graduation, both in millimetres. A single limit L (reading between
-L and L) has the width L: what is judged is a size up to L, not a span of 2 L.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from api.domain.stores import Indicator
from api.domain.torque_setting import Refusal
from api.domain.units import to_si

ADVISED_RATIO = 10.0
LEAST_RATIO = 4.0
STEEPEST_STYLUS_DEG = 30.0
PLAY = 1e-9


def graduation_mm(indicator: Indicator) -> float:
    return to_si(indicator.graduation, indicator.unit) * 1e3


def limit_width_mm(low_mm: float, high_mm: float) -> float:
    """L for limits from -L to L, otherwise the distance between the two."""
    return high_mm if low_mm == -high_mm else high_mm - low_mm


def ratio(width_mm: float, indicator: Indicator) -> float:
    return width_mm / graduation_mm(indicator)


def refusals(indicator: Indicator, widths_mm: Iterable[float], today: dt.date) -> list[Refusal]:
    """Every reason against judging limits of these widths with the indicator today."""
    found = []
    if indicator.state == "withdrawn":
        found.append(
            Refusal("withdrawn", f"{indicator.serial} is withdrawn; take another indicator")
        )
    if today > indicator.due:
        found.append(
            Refusal(
                "overdue-by-date",
                f"{indicator.serial} was due for calibration on {indicator.due.isoformat()}",
            )
        )
    if indicator.stylus_deg > STEEPEST_STYLUS_DEG:
        found.append(
            Refusal(
                "stylus-too-steep",
                f"the stylus of {indicator.serial} stands at {indicator.stylus_deg:g} degrees; "
                f"at most {STEEPEST_STYLUS_DEG:g} may judge a limit",
            )
        )
    worst = min(widths_mm, default=None)
    if worst is not None and ratio(worst, indicator) < LEAST_RATIO - PLAY:
        found.append(Refusal("too-coarse", _coarse(indicator, worst, LEAST_RATIO)))
    return found


def advice(indicator: Indicator, widths_mm: Iterable[float]) -> list[Refusal]:
    """Said, not refused: a finer graduation is advised."""
    worst = min(widths_mm, default=None)
    if worst is None or not LEAST_RATIO - PLAY <= ratio(worst, indicator) < ADVISED_RATIO - PLAY:
        return []
    return [Refusal("coarse", _coarse(indicator, worst, ADVISED_RATIO))]


def _coarse(indicator: Indicator, width_mm: float, wanted: float) -> str:
    return (
        f"the graduation of {indicator.serial} is {graduation_mm(indicator):.4g} mm, "
        f"1 to {ratio(width_mm, indicator):.1f} of the limit of {width_mm:.4g} mm; 1 to {wanted:g} is wanted"
    )
