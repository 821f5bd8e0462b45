"""Kienzle's law: chip thickness, specific force, mean force, power.

kc = kc1.1 (h / 1 mm)^(-mc) K with the chip thickness h; a chip of width b takes b h kc.
Source: Kienzle's power law as in German machining textbooks; the exponent holds from about
0.02 mm to 1 mm of chip.
"""

from math import cos, pi, sin

from api.mechanics.cutting.mills import MillCut, arc_of, require

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


def chip_width_m(cut: MillCut) -> float:
    """b = ap / sin κ, m."""
    return cut.depth_m / sin(cut.lead_rad)


def mean_tooth_n(cut: MillCut) -> float:
    """Tangential force of one tooth at the mean chip, N."""
    return chip_force_n(chip_width_m(cut), mean_chip_m(cut), cut.kc11_pa, cut.mc, cut.worn)


def teeth_in_cut(cut: MillCut) -> float:
    """ze = z φs / 2π, on average."""
    return cut.teeth * arc_of(cut).width_rad / (2 * pi)


def mean_total_n(cut: MillCut) -> float:
    """Mean tangential force of all teeth, from the mean chip: ze b hm kc, N.

    The same as ap ae fz z kc / (π D); a few per cent above the integrated mean.
    """
    return teeth_in_cut(cut) * mean_tooth_n(cut)


def runout_feed_factor(runout_m: float, feed_m: float) -> float:
    """1 + e/fz: how much thicker the chip of the tooth that runs out is."""
    return 1 + runout_m / feed_m


def tangential_n(power_w: float, speed_m_s: float) -> float:
    """Mean tangential force Pc / vc, N. The peak of the tooth sum is well above it."""
    return power_w / speed_m_s
