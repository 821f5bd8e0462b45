"""A wedge that does not turn, drawn into the plate between two jaws by its screw."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from api.mechanics.screws.tension import headed_arm_m
from api.mechanics.screws.values import Values, require
from api.mechanics.side_force.forces import Frictions
from api.mechanics.side_force.spreading import Spreading, require_gain


@dataclass(frozen=True, eq=False)
class Wedge(Spreading):
    """A wedge of face angle alpha from the direction of pull.

    F = 2 N (sin alpha + mu cos alpha), and each jaw is also pressed down with F/2:
    S = (F/2)[cot(alpha + rho) - mu_base] - slot, rho = atan mu. F includes head friction, for the
    head turns on the wedge.

    Derived from the balance of wedge and jaw; checked by its work balance without friction.
    Valid for 0 < alpha, alpha + rho < 90 deg and cot(alpha + rho) > mu_base; else ImpossibleInput.
    """

    def arm_m(self, friction: Frictions) -> Values:
        return headed_arm_m(self.thread, friction.thread, friction.head)

    def gain(self, friction: Frictions) -> Values:
        gain = (cot_with_friction(self.angle_rad, friction.face) - friction.base) / 2
        require_gain(gain, "wedge")
        return gain

    def travel_per_turn_m(self) -> Values:
        """P tan alpha."""
        return self.thread.pitch_m * np.tan(self.angle_rad)

    def wedge_efficiency(self, friction: Frictions) -> Values:
        """Work at both jaws over work of the tension: tan alpha [cot(alpha + rho) - mu_base]."""
        return 2 * self.gain(friction) * np.tan(self.angle_rad)

    def held_share(self, friction: Frictions) -> Values:
        """Tension, as a share of the first, below which the side force starts to fall.

        All frictions turn round before anything slides back, so
        k = [cot(alpha + rho) - mu_base]/[cot(alpha - rho) + mu_base]; 0 for a wedge that holds
        itself, alpha <= rho.
        """
        back = tan_back(self.angle_rad, friction.face)
        return 2 * self.gain(friction) * back / (1 + friction.base * back)


def cot_with_friction(angle_rad: Values, mu: Values) -> Values:
    """cot(alpha + rho); raises ImpossibleInput outside 0 < alpha, alpha + rho < 90 deg."""
    steepest = angle_rad + np.arctan(mu)
    require(
        (np.asarray(angle_rad) > 0) & (steepest < math.pi / 2),
        "the wedge's angle must be above 0, and with its angle of friction below 90 degrees; "
        "give a smaller angle or a lower friction",
    )
    return 1 / np.tan(steepest)


def tan_back(angle_rad: Values, mu: Values) -> Values:
    """tan(alpha - rho), 0 where the friction angle is the larger: the wedge then holds itself."""
    return np.maximum(np.tan(angle_rad - np.arctan(mu)), 0.0)
