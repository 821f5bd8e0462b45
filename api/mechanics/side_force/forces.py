"""What goes into a spreading screw and what comes out of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from api.mechanics.screws.values import Values, require_friction


@dataclass(frozen=True, eq=False)
class Frictions:
    """Friction of the thread, under the head, on the wedge's or cone's face, and of jaw on base."""

    thread: Values
    head: Values
    face: Values
    base: Values

    def __post_init__(self) -> None:
        require_friction("thread", self.thread)
        require_friction("head", self.head)
        require_friction("wedge or cone", self.face)
        require_friction("jaw on its base", self.base)

    @classmethod
    def same(cls, mu: Values, base: Values | None = None) -> Frictions:
        """One friction on every face that shares the grease; `base` only where it differs."""
        return cls(mu, mu, mu, mu if base is None else base)


@dataclass(frozen=True, eq=False)
class SideForce:
    """`side_n` sideways on each jaw; `screw_n` tension of the screw, None where it is not modelled."""

    side_n: Values
    screw_n: Values | None


class Spreader(Protocol):
    """Anything that turns a torque into a side force: cone, wedge, twin, measured."""

    def __hash__(self) -> int: ...

    def side_force(self, torque_nm: Values, friction: Frictions) -> SideForce: ...

    def torque_nm(self, side_n: Values, friction: Frictions) -> Values: ...
