"""Kienzle's law: chip thickness, specific force, mean force, power.

kc = kc1.1 (h / 1 mm)^(-mc) K with the chip thickness h; a chip of width b takes b h kc.
Source: Kienzle's power law as in German machining textbooks; the exponent holds from about
0.02 mm to 1 mm of chip.
"""

from math import cos, pi, sin

from api.mechanics.cutting.mills import MillCut, arc_of, require
from api.mechanics.cutting.power_integrals import sine_power_integral

REFERENCE_CHIP_M = 1e-3
THIN_CHIP_M = 0.02e-3  # below it the exponent of Kienzle's law is no longer known


def specific_force_pa(chip_m: float, kc11_pa: float, mc: float, factor: float = 1.0) -> float:
    """kc = kc1.1 (h / 1 mm)^(-mc) K, Pa."""
    require(chip_m > 0, "Chip thickness must be above 0.")
    return factor * kc11_pa * float((chip_m / REFERENCE_CHIP_M) ** -mc)


def chip_force_n(width_m: float, chip_m: float, kc11_pa: float, mc: float, factor: float) -> float:
    """Tangential force b h kc on one chip, N."""
    return width_m * chip_m * specific_force_pa(chip_m, kc11_pa, mc, factor)


def mean_chip_m(cut: MillCut) -> float:
    """hm = fz sin κ (cos φ1 - cos φ2) / φs, m."""
    arc = arc_of(cut)
    return cut.feed_m * sin(cut.lead_rad) * (cos(arc.entry_rad) - cos(arc.exit_rad)) / arc.width_rad


def thickest_chip_m(cut: MillCut) -> float:
    """Chip at φ = π/2 if the tooth passes it, else at the end of the arc, m."""
    arc = arc_of(cut)
    passes = arc.entry_rad <= pi / 2 <= arc.exit_rad
    return cut.feed_m * sin(cut.lead_rad) * (1.0 if passes else sin(arc.exit_rad))


def mean_specific_force_pa(cut: MillCut) -> float:
    """kc at the mean chip thickness, Pa."""
    return specific_force_pa(mean_chip_m(cut), cut.kc11_pa, cut.mc, cut.worn)


def chip_width_m(cut: MillCut) -> float:
    """b = ap / sin κ, m."""
    return cut.depth_m / sin(cut.lead_rad)


def mean_tooth_n(cut: MillCut) -> float:
    """Tangential force of one tooth at the mean chip, N."""
    return chip_force_n(chip_width_m(cut), mean_chip_m(cut), cut.kc11_pa, cut.mc, cut.worn)


def peak_tooth_n(cut: MillCut) -> float:
    """Tangential force of one straight tooth at its thickest chip, N."""
    return chip_force_n(chip_width_m(cut), thickest_chip_m(cut), cut.kc11_pa, cut.mc, cut.worn)


def teeth_in_cut(cut: MillCut) -> float:
    """ze = z φs / 2π, on average."""
    return cut.teeth * arc_of(cut).width_rad / (2 * pi)


def mean_total_n(cut: MillCut) -> float:
    """Mean tangential force of all teeth, from the mean chip: ze b hm kc, N.

    The same as ap ae fz z kc / (π D); a few per cent above the integrated mean.
    """
    return teeth_in_cut(cut) * mean_tooth_n(cut)


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


def runout_feed_factor(runout_m: float, feed_m: float) -> float:
    """1 + e/fz: how much thicker the chip of the tooth that runs out is."""
    return 1 + runout_m / feed_m


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


def tangential_n(power_w: float, speed_m_s: float) -> float:
    """Mean tangential force Pc / vc, N. The peak of the tooth sum is well above it."""
    return power_w / speed_m_s
