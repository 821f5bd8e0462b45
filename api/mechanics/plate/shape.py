"""What a plate is made of; lengths in metres, stresses in pascals, densities in kg/m3.

x runs along the plate, y across it, z up; the origin is one corner of the plate.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Rectangle:
    """An upright rectangle in the plate's plane."""

    x0_m: float
    y0_m: float
    x1_m: float
    y1_m: float

    @property
    def length_m(self) -> float:
        return self.x1_m - self.x0_m

    @property
    def width_m(self) -> float:
        return self.y1_m - self.y0_m


@dataclass(frozen=True)
class Pocket:
    """Material missing from the plate's top over a rectangle."""

    area: Rectangle
    depth_m: float


@dataclass(frozen=True)
class Bar:
    """A straight bar on top of the plate; `share` is how far it works with the plate.

    1 is one piece with the plate, 0 a bar that only lies on it.
    """

    area: Rectangle
    height_m: float
    e_pa: float
    nu: float
    density_kg_m3: float
    share: float = 1.0


@dataclass(frozen=True)
class PlateShape:
    """A rectangular plate of one material with pockets and bars."""

    length_m: float
    width_m: float
    thickness_m: float
    e_pa: float
    nu: float
    density_kg_m3: float
    pockets: tuple[Pocket, ...] = field(default=())
    bars: tuple[Bar, ...] = field(default=())

    def __post_init__(self) -> None:
        deepest = max((pocket.depth_m for pocket in self.pockets), default=0.0)
        if not 0 <= deepest < self.thickness_m:
            raise ValueError(
                f"A pocket {deepest * 1e3:g} mm deep leaves nothing of a plate "
                f"{self.thickness_m * 1e3:g} mm thick; make the pocket shallower."
            )
        if not (self.e_pa > 0 and 0 <= self.nu < 0.5):
            raise ValueError(
                "A plate needs a positive modulus and a Poisson's ratio from 0 to below 0.5; "
                "correct the material."
            )
