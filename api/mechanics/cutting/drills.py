"""Torque and thrust of a drill by Kienzle's law on its lips."""

from dataclasses import dataclass
from math import isfinite, pi, radians, sin

from api.mechanics.cutting.kienzle import chip_force_n
from api.mechanics.cutting.mills import require, require_force_law

USUAL_LIP_RAD = radians(59.0)  # half of a 118 degree point
THRUST_SHARE = 1.0
BREAK_THROUGH_SHARE = 0.5


@dataclass(frozen=True)
class DrillCut:
    """Drilling from solid: diameter_m D, lips z, feed_m fz per lip, lip_rad κ to the axis."""

    diameter_m: float
    lips: int
    feed_m: float
    kc11_pa: float
    mc: float
    worn: float = 1.0
    lip_rad: float = USUAL_LIP_RAD

    def __post_init__(self) -> None:
        require_force_law(self.kc11_pa, self.mc, self.worn)
        sizes = (self.diameter_m, self.feed_m)
        require(
            all(isfinite(size) and size > 0 for size in sizes),
            "Diameter and feed per lip must be above 0.",
        )
        require(self.lips >= 1, "A drill has at least one lip.")
        require(0 < self.lip_rad <= pi / 2 + 1e-9, "Lip angle must lie above 0 and up to 90 deg.")


def drill_chip_m(cut: DrillCut) -> float:
    """h = fz sin κ, m."""
    return cut.feed_m * sin(cut.lip_rad)


def lip_force_n(cut: DrillCut) -> float:
    """Cutting force on one lip: b h kc with b = D / (2 sin κ), N."""
    width_m = cut.diameter_m / (2 * sin(cut.lip_rad))
    return chip_force_n(width_m, drill_chip_m(cut), cut.kc11_pa, cut.mc, cut.worn)


def drill_torque_nm(cut: DrillCut) -> float:
    """M = z Fc D/4 (each lip at its middle radius), N·m; for two lips D² f kc / 8."""
    return cut.lips * lip_force_n(cut) * cut.diameter_m / 4


def drill_thrust_n(cut: DrillCut) -> float:
    """Thrust z Fc THRUST_SHARE sin κ, N; for two lips D f kc sin κ / 2.

    The lips alone take about half of that by the textbook ratio of normal to cutting force;
    the chisel edge takes as much again (assumed).
    """
    return cut.lips * lip_force_n(cut) * THRUST_SHARE * sin(cut.lip_rad)


def drill_power_w(cut: DrillCut, speed_m_s: float) -> float:
    """M ω with ω = 2 vc / D, W."""
    return drill_torque_nm(cut) * 2 * speed_m_s / cut.diameter_m
