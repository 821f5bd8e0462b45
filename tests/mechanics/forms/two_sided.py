"""A piece between two faces in closed form, beside the linear programme."""

from __future__ import annotations

from math import hypot, pi, sin

from api.mechanics.grip.contacts import GripError


def slip_hold_n(friction: float, side_n: float) -> float:
    """Force along or up the two faces at which the piece slips: 2 μ S, N.

    One circle of friction for both directions together, not one capacity for each.
    """
    return 2 * friction * side_n


def plate_friction_n(friction: float, down_n: float, weight_n: float) -> float:
    """What the seat adds along the faces: μp (D + W), nothing if that pulls off the seat, N."""
    return friction * max(down_n + weight_n, 0.0)


def slip_share(along_n: float, lift_n: float, down_n: float, hold_n: float) -> float:
    """How much of the friction circle is used: sqrt(Fy² + (Fz - D)²) / hold.

    The piece slips at 1; the safety factor of the whole demand is its reciprocal.
    """
    return hypot(along_n, lift_n - down_n) / hold_n


def stop_opens_at_n(side_n: float, clamp_stiffness: float, stop_stiffness: float) -> float:
    """Force away from the fixed face at which contact there is lost: S (1 + kc / ks), N.

    A preloaded joint of two springs. A hold must never be credited with more than S.
    """
    return side_n * (1 + clamp_stiffness / stop_stiffness)


def tipping_moment_nm(friction: float, side_n: float, width_m: float, weight_n: float) -> float:
    """Moment that tips the piece about the lower edge of one face: μ S w + W w / 2, N·m.

    w is the distance of the faces; the far face's friction works at w, the weight at w / 2.
    """
    return friction * side_n * width_m + weight_n * width_m / 2


def strip_opening_moment_nm(side_n: float, height_m: float) -> float:
    """Moment at which a strip of contact starts to open: S b / 6, N·m (linear pressure)."""
    return side_n * height_m / 6


def strip_limit_moment_nm(side_n: float, height_m: float) -> float:
    """Moment at which all of S stands on the edge of the strip: S b / 2, N·m."""
    return side_n * height_m / 2


def round_torsion_nm(friction: float, side_n: float, diameter_m: float) -> float:
    """Moment that spins a round piece between two flats: μ S d, N·m."""
    return friction * side_n * diameter_m


def vee_normal_n(side_n: float, included_rad: float) -> float:
    """Sum of the normal forces in a V of the given included angle: S / sin(angle / 2), N."""
    if not 0 < included_rad <= pi:
        raise GripError("The angle of a V must lie above 0 and up to 180 deg.")
    return side_n / sin(included_rad / 2)
