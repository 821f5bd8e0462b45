"""Round bar on a flat face: Hertz's line contact."""

from dataclasses import dataclass
from math import pi, sqrt
from typing import Final

YIELD_FACTOR: Final = (
    1.79  # p0 over yield stress where a line contact first yields, below its surface
)


@dataclass(frozen=True)
class LineContact:
    """pressure_pa p0 at the middle, half_width_m b, and p0 at which the bar yields inside."""

    pressure_pa: float
    half_width_m: float
    yields_at_pa: float

    @property
    def yields(self) -> bool:
        return self.pressure_pa > self.yields_at_pa


def contact_modulus_pa(moduli_pa: tuple[float, float], ratios: tuple[float, float]) -> float:
    """1/E* = (1 - ν1²)/E1 + (1 - ν2²)/E2, Pa."""
    compliances = [(1 - nu**2) / e for e, nu in zip(moduli_pa, ratios, strict=True)]
    return 1 / sum(compliances)


def line_contact(
    force_n_per_m: float, radius_m: float, modulus_pa: float, yield_pa: float
) -> LineContact:
    """Cylinder of a radius on a flat: p0 = sqrt(F' E*/(π R)), b = sqrt(4 F' R/(π E*)).

    F' force per length, E* of contact_modulus_pa; first yield inside at p0 = 1.79 Y.
    Source: textbook contact mechanics (cylinder on an elastic half-space). Elastic, long contact,
    no friction; ends of a short contact carry more.
    """
    return LineContact(
        pressure_pa=sqrt(force_n_per_m * modulus_pa / (pi * radius_m)),
        half_width_m=sqrt(4 * force_n_per_m * radius_m / (pi * modulus_pa)),
        yields_at_pa=YIELD_FACTOR * yield_pa,
    )
