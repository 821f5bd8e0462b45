"""Is a torque plausible for its thread, and if not, which slip of unit would explain it?

The reference is the tightening torque of an 8.8 screw at 90 % of yield and a friction of 0.12. Clamp
screws are run from about an eighth of that (a light touch) to what a 12.9 screw takes, 1.72 times.
A value beyond is held against the slips that happen: one unit read as another, or a factor of 12.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from api.domain.units import UNITS, Quantity, to_unit
from api.mechanics.screws.geometry import Thread
from api.mechanics.screws.limits import torque_at_yield_nm

LOWEST_SHARE, USUAL_SHARE, HIGHEST_SHARE = 0.12, 0.5, 1.72
TORQUE_UNITS = ("N*m", "lbf*in", "lbf*ft")
FACTORS = {12.0: "12 times", 1.3558: "1.356 times", 8.8507: "8.85 times"}


@dataclass(frozen=True)
class Slip:
    """A reading of the same number that would be plausible."""

    meant: str
    meant_nm: float
    factor: str


def reference_nm(thread: Thread) -> float:
    return float(torque_at_yield_nm(thread, "8.8", 0.12))


def band_nm(thread: Thread) -> tuple[float, float]:
    """Lowest and highest plausible torque for the thread of a clamp screw."""
    reference = reference_nm(thread)
    return LOWEST_SHARE * reference, HIGHEST_SHARE * reference


def is_plausible(torque_nm: float, thread: Thread) -> bool:
    low, high = band_nm(thread)
    return low <= torque_nm <= high


def probable_slips(torque: Quantity, thread: Thread) -> list[Slip]:
    """The slips that would explain the torque, likeliest first.

    Feet for inches comes first, then any other unit read for the one meant, then a wrong factor;
    among equals the one whose value is nearest to usual.
    """
    usual = USUAL_SHARE * reference_nm(thread)
    found = []
    for factor, words in FACTORS.items():
        for turned, said in ((factor, f"{words} too low"), (1 / factor, f"{words} too high")):
            meant_nm = torque.value * turned
            if is_plausible(meant_nm, thread):
                unit = _other_unit(torque.unit, turned)
                rank = 2 if unit is None else 0 if factor == 12.0 else 1
                distance = abs(math.log(meant_nm / usual))
                found.append((rank, distance, Slip(_shown(torque, meant_nm, unit), meant_nm, said)))
    return [slip for _, _, slip in sorted(found, key=lambda each: each[:2])]


def _other_unit(written: str, factor: float) -> str | None:
    if written not in TORQUE_UNITS:
        return None
    for unit in TORQUE_UNITS:
        if math.isclose(UNITS[unit][1] / UNITS[written][1], factor, rel_tol=1e-3):
            return unit
    return None


def _shown(torque: Quantity, meant_nm: float, unit: str | None) -> str:
    """The same number with the other unit, or the other number with the same unit."""
    if unit is not None:
        return f"{to_unit(meant_nm, unit):.4g} {unit}"
    written = torque.unit if torque.unit in TORQUE_UNITS else "N*m"
    return f"{to_unit(meant_nm, written):.4g} {written}"
