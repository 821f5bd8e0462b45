"""Two opposed wedges drawn together by one screw between two jaws."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from api.mechanics.screws.tension import headed_arm_m
from api.mechanics.screws.values import Values
from api.mechanics.side_force.forces import Frictions
from api.mechanics.side_force.spreading import Spreading
from api.mechanics.side_force.wedge import cot_with_friction, tan_back


@dataclass(frozen=True, eq=False)
class Twin(Spreading):
    """Two wedges of face angle alpha from the direction of pull.

    S = F cot(alpha + rho) - slot, twice one wedge without its base: the thrusts along the screw
    cancel, nothing presses the jaws down, and the clamp can float.
    Derived as for one wedge. Valid for 0 < alpha, alpha + rho < 90 deg; else ImpossibleInput.
    """

    def arm_m(self, friction: Frictions) -> Values:
        return headed_arm_m(self.thread, friction.thread, friction.head)

    def gain(self, friction: Frictions) -> Values:
        return cot_with_friction(self.angle_rad, friction.face)

    def travel_per_turn_m(self) -> Values:
        """(P/2) tan alpha: the two wedges share the turn."""
        return self.thread.pitch_m * np.tan(self.angle_rad) / 2

    def wedge_efficiency(self, friction: Frictions) -> Values:
        """Work at both jaws over work of the tension: tan alpha cot(alpha + rho)."""
        return self.gain(friction) * np.tan(self.angle_rad)

    def held_share(self, friction: Frictions) -> Values:
        """Tension, as a share of the first, below which the side force starts to fall.

        k = tan(alpha - rho)/tan(alpha + rho); 0 for wedges that hold themselves, alpha <= rho.
        """
        return self.gain(friction) * tan_back(self.angle_rad, friction.face)
