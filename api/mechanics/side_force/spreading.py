"""What cone, wedge and twin share: an arm, a gain, and the force that bends slotted jaws first."""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass, field

import numpy as np

from api.mechanics.screws.geometry import Thread
from api.mechanics.screws.values import Values, require, require_not_negative
from api.mechanics.side_force.forces import Frictions, SideForce


@dataclass(frozen=True, eq=False)
class Spreading(ABC):
    """Tension F = T/arm; side force per jaw S = gain F - slot, never below 0.

    `slot_n` is the force that bends one-piece slotted jaws through the gap they close: stiffness
    times gap, or what a force gauge shows when the jaws are closed on nothing.
    Angles, radii, forces and frictions are numbers or arrays (k,), and so are the results.
    """

    thread: Thread
    angle_rad: Values
    slot_n: Values = field(default=0.0, kw_only=True)

    def __post_init__(self) -> None:
        require_not_negative("force that bends the jaws", self.slot_n)

    @abstractmethod
    def arm_m(self, friction: Frictions) -> Values:
        """Torque per tension."""

    @abstractmethod
    def gain(self, friction: Frictions) -> Values:
        """Side force per tension; raises ImpossibleInput where friction leaves none."""

    @abstractmethod
    def travel_per_turn_m(self) -> Values:
        """How far each jaw moves in a turn of the screw."""

    def side_force(self, torque_nm: Values, friction: Frictions) -> SideForce:
        """Side force per jaw and tension of the screw at a torque."""
        require_not_negative("torque", torque_nm)
        screw_n = torque_nm / self.arm_m(friction)
        return SideForce(np.maximum(self.gain(friction) * screw_n - self.slot_n, 0.0), screw_n)

    def torque_nm(self, side_n: Values, friction: Frictions) -> Values:
        """Torque for a side force per jaw."""
        require_not_negative("side force", side_n)
        return (side_n + self.slot_n) * self.arm_m(friction) / self.gain(friction)


def require_gain(gain: Values, kind: str) -> None:
    """Refuse a spreader whose friction eats all its force."""
    require(
        np.asarray(gain) > 0,
        f"with this angle and friction the {kind} jams and presses nothing sideways; "
        "give a smaller angle or a lower friction",
    )
