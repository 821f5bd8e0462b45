"""Geometry of a 60 degree screw thread and of the ring its head bears on."""

from __future__ import annotations

import math
from dataclasses import dataclass

from api.mechanics.screws.values import require, require_positive


@dataclass(frozen=True)
class Thread:
    """A 60 degree thread and the screw head that goes with it (ISO 68-1/724, ASME B1.1).

    `d_m` outside diameter d, `pitch_m` pitch P (one start), `bearing_m` effective bearing diameter
    Db under the head, `inch` chooses the stress area of ASME B1.1.
    Raises ImpossibleInput unless d > 1.227 P > 0 and Db >= 0.
    """

    name: str
    d_m: float
    pitch_m: float
    bearing_m: float
    inch: bool = False

    def __post_init__(self) -> None:
        require_positive(f"pitch of the thread {self.name}", self.pitch_m)
        require(
            math.isfinite(self.d_m) and self.d3_m > 0,
            f"the thread {self.name} has no core; its diameter must be well above its pitch",
        )
        require(
            math.isfinite(self.bearing_m) and self.bearing_m >= 0,
            f"the bearing diameter of {self.name} must be a number from 0 up; correct it",
        )

    @property
    def d2_m(self) -> float:
        """Pitch diameter d2 = d - 0.649519 P."""
        return self.d_m - 0.649519 * self.pitch_m

    @property
    def d3_m(self) -> float:
        """Root diameter of the screw d3 = d - 1.226869 P."""
        return self.d_m - 1.226869 * self.pitch_m

    @property
    def d0_m(self) -> float:
        """Diameter of the metric stress area, (d2 + d3)/2."""
        return (self.d2_m + self.d3_m) / 2

    @property
    def stress_area_m2(self) -> float:
        """As = pi/4 d0^2 (ISO 898-1); inch: 0.7854 (D - 0.9743 P)^2 (ASME B1.1)."""
        if self.inch:
            return 0.7854 * (self.d_m - 0.9743 * self.pitch_m) ** 2
        return math.pi / 4 * self.d0_m**2

    @property
    def lead_angle_rad(self) -> float:
        """phi = atan(P / (pi d2))."""
        return math.atan(self.pitch_m / (math.pi * self.d2_m))


def mean_bearing_m(head_m: float, hole_m: float) -> float:
    """Effective bearing diameter Db = (Do + dh)/2 of a ring from hole dh to head Do (ISO 16047)."""
    _require_ring(head_m, hole_m)
    return (head_m + hole_m) / 2


def _require_ring(head_m: float, hole_m: float) -> None:
    require(
        math.isfinite(head_m) and 0 <= hole_m < head_m,
        "the head must be wider than its hole; give the head's diameter first",
    )
