"""A screw whose tapered head turns between two jaws and spreads them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from api.mechanics.screws.taper import slide_angle_rad, tapered_arm_m, tension_per_normal
from api.mechanics.screws.values import Values
from api.mechanics.side_force.forces import Frictions
from api.mechanics.side_force.spreading import Spreading, require_gain


@dataclass(frozen=True, eq=False)
class Cone(Spreading):
    """A turning cone of half-angle beta (`angle_rad`) and mean contact radius rc (`radius_m`).

    With N the normal force on a jaw and psi the slide angle of `screws.taper`:
    Fa/2 = N (sin beta + mu sin psi cos beta), H = N (cos beta - mu sin psi sin beta),
    S = H - mu_base Fa/2 - slot. Friction of the cone takes torque, hardly any tension; there is no
    head.

    Derived from the balance of cone and jaw; checked by its work balance without friction.
    Valid for 0 < beta < 90 deg, rc > 0 and a friction that leaves S above 0; else ImpossibleInput.
    """

    radius_m: Values

    def arm_m(self, friction: Frictions) -> Values:
        return tapered_arm_m(
            self.thread, self.angle_rad, self.radius_m, friction.thread, friction.face
        )

    def gain(self, friction: Frictions) -> Values:
        beta, mu = self.angle_rad, friction.face
        psi = slide_angle_rad(self.thread, beta, self.radius_m)
        outward = np.cos(beta) - mu * np.sin(psi) * np.sin(beta)
        gain = outward / self.tension_per_normal(friction) - friction.base / 2
        require_gain(gain, "cone")
        return gain

    def tension_per_normal(self, friction: Frictions) -> Values:
        """Tension of the screw per normal force of the cone on a jaw."""
        return tension_per_normal(self.thread, self.angle_rad, self.radius_m, friction.face)

    def travel_per_turn_m(self) -> Values:
        """P tan beta."""
        return self.thread.pitch_m * np.tan(self.angle_rad)
