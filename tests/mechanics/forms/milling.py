"""Milling by mean values and single teeth, beside the tooth sum."""

from __future__ import annotations

from math import pi, sin

from api.mechanics.cutting.kienzle import chip_force_n, chip_width_m, mean_chip_m, specific_force_pa
from api.mechanics.cutting.mills import MillCut, arc_of
from api.mechanics.cutting.power_integrals import sine_power_integral


def thickest_chip_m(cut: MillCut) -> float:
    """Chip at φ = π/2 if the tooth passes it, else at the end of the arc, m."""
    arc = arc_of(cut)
    passes = arc.entry_rad <= pi / 2 <= arc.exit_rad
    return cut.feed_m * sin(cut.lead_rad) * (1.0 if passes else sin(arc.exit_rad))


def mean_specific_force_pa(cut: MillCut) -> float:
    """kc at the mean chip thickness, Pa."""
    return specific_force_pa(mean_chip_m(cut), cut.kc11_pa, cut.mc, cut.worn)


def peak_tooth_n(cut: MillCut) -> float:
    """Tangential force of one straight tooth at its thickest chip, N."""
    return chip_force_n(chip_width_m(cut), thickest_chip_m(cut), cut.kc11_pa, cut.mc, cut.worn)


def integrated_mean_total_n(cut: MillCut) -> float:
    """Mean tangential force of all teeth, kc taken at each chip thickness, N.

    (z / 2π) b kc1.1 K (fz sin κ)^(1-mc) ∫ sin^(1-mc) φ dφ over the arc; exact.
    """
    arc = arc_of(cut)
    full = chip_force_n(
        chip_width_m(cut), cut.feed_m * sin(cut.lead_rad), cut.kc11_pa, cut.mc, cut.worn
    )
    over_arc = sine_power_integral(1 - cut.mc, [arc.entry_rad, arc.exit_rad])
    return full * cut.teeth / (2 * pi) * float(over_arc[1] - over_arc[0])


def spindle_speed_per_s(speed_m_s: float, diameter_m: float) -> float:
    """n = vc / (π D), turns per second."""
    return speed_m_s / (pi * diameter_m)


def feed_speed_m_s(cut: MillCut, speed_m_s: float) -> float:
    """vf = fz z n, m/s."""
    return cut.feed_m * cut.teeth * spindle_speed_per_s(speed_m_s, cut.diameter_m)


def feed_per_tooth_m(feed_speed_m_s: float, turns_per_s: float, teeth: int) -> float:
    """fz = vf / (z n), m."""
    return feed_speed_m_s / (teeth * turns_per_s)


def removal_rate_m3_s(depth_m: float, width_m: float, feed_speed_m_s: float) -> float:
    """Q = ap ae vf, m³/s."""
    return depth_m * width_m * feed_speed_m_s


def cutting_power_w(rate_m3_s: float, kc_pa: float) -> float:
    """Pc = Q kc at the cutter, W; divide by the drive's efficiency for the motor."""
    return rate_m3_s * kc_pa
