"""A side force that was measured at some torques."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from api.mechanics.screws.values import Values, require, require_not_negative
from api.mechanics.side_force.forces import Frictions, SideForce

Curve = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Measured:
    """Side force per jaw through measured points, straight between them.

    `torques_nm` and `sides_n`, shape (n,), both rising and above 0. Below the first point the line
    to the origin; above the last the last stretch goes on straight, and `is_beyond` tells so (a
    single point goes on along its line from the origin).
    The friction of the day is in the data, so `friction` changes nothing here, and the tension of
    the screw is not known. Raises ImpossibleInput for a table that does not rise.
    """

    torques_nm: Curve
    sides_n: Curve

    def __post_init__(self) -> None:
        for name, values in (("torques", self.torques_nm), ("forces", self.sides_n)):
            require(
                np.ndim(values) == 1 and len(values) > 0 and np.isfinite(values).all(),
                f"the measured {name} must be a list of numbers; give at least one pair",
            )
            require(
                np.diff(values, prepend=0.0) > 0,
                f"the measured {name} do not rise from 0; order the pairs by torque, each higher",
            )
        require(
            len(self.torques_nm) == len(self.sides_n),
            "each measured torque needs its force; give them in pairs",
        )

    def side_force(self, torque_nm: Values, friction: Frictions) -> SideForce:
        require_not_negative("torque", torque_nm)
        return SideForce(_along(self.torques_nm, self.sides_n, torque_nm), None)

    def torque_nm(self, side_n: Values, friction: Frictions) -> Values:
        require_not_negative("side force", side_n)
        return _along(self.sides_n, self.torques_nm, side_n)

    def is_beyond(self, torque_nm: Values) -> npt.NDArray[np.bool]:
        """Where a torque is above the last measured one, same shape; its force is a guess."""
        return np.asarray(torque_nm) > float(self.torques_nm[-1])


def measured_through(pairs: Sequence[tuple[float, float]]) -> Measured:
    """The curve through (torque in N·m, side force in N) pairs, the lowest torque first."""
    torques, sides = zip(*pairs, strict=True)
    return Measured(np.array(torques, dtype=np.float64), np.array(sides, dtype=np.float64))


def _along(x: Curve, y: Curve, at: Values) -> Values:
    """y at `at`, through the origin and straight on past the last point."""
    x, y = np.concatenate(([0.0], x)), np.concatenate(([0.0], y))
    slope = float((y[-1] - y[-2]) / (x[-1] - x[-2]))
    inside = np.asarray(np.interp(at, x, y), dtype=np.float64)
    return inside + slope * np.maximum(at - float(x[-1]), 0.0)
