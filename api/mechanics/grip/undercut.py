"""Faces that lean over the piece."""

from dataclasses import dataclass
from math import atan, pi, tan

from api.mechanics.grip.contacts import GripError


@dataclass(frozen=True)
class DownForce:
    """Down-force of one face, N: least (friction resists seating), without friction, most."""

    least_n: float
    frictionless_n: float
    most_n: float


def round_down_force(side_n: float, undercut_rad: float, friction: float) -> DownForce:
    """Down-force of one undercut face on round stock, side force S.

    The contact normal is the face's. S tan(θ - ρ) if friction resists seating, S tan θ without
    friction, S tan(θ + ρ) if the face travels down and drags the piece; ρ = atan μ.
    The last is also the most upward load one face can hold. With θ < ρ the least is negative:
    the guaranteed force is upward, so the piece must be tapped down or dragged down.
    Derived from the force polygon. Raises GripError if θ + ρ reaches 90 deg.
    """
    angle = atan(friction)
    if not 0 <= undercut_rad < pi / 2 - angle:
        raise GripError("Undercut and friction angle together must stay below 90 deg.")
    return DownForce(
        side_n * tan(undercut_rad - angle),
        side_n * tan(undercut_rad),
        side_n * tan(undercut_rad + angle),
    )


def flat_down_force(side_n: float, friction: float) -> DownForce:
    """Down-force of one face on flat stock with upright sides: only friction, -μS to +μS.

    The contact normal is level whatever the undercut, since the face touches at an edge.
    """
    return DownForce(-friction * side_n, 0.0, friction * side_n)
