"""What the strength classes of screws stand: proof, yield and tensile stress.

ISO 898-1 for 8.8, 10.9 and 12.9; ASTM A574 for alloy socket screws in inches.
"""

from __future__ import annotations

from dataclasses import dataclass

from api.mechanics.screws.values import ImpossibleInput

KSI_PA = 6.894757e6
MPA_PA = 1e6


@dataclass(frozen=True)
class StrengthClass:
    """Least stresses in Pa; each pair is for diameters up to `split_m`, and above."""

    name: str
    split_m: float
    proof_pa: tuple[float, float]
    yield_pa: tuple[float, float]
    tensile_pa: tuple[float, float]
    source: str


def _same(value_mpa: float) -> tuple[float, float]:
    return value_mpa * MPA_PA, value_mpa * MPA_PA


STRENGTH_CLASSES: dict[str, StrengthClass] = {
    each.name: each
    for each in (
        StrengthClass("8.8", 16e-3, (580e6, 600e6), (640e6, 660e6), (800e6, 830e6), "ISO 898-1"),
        StrengthClass("10.9", 16e-3, _same(830), _same(940), _same(1040), "ISO 898-1"),
        StrengthClass("12.9", 16e-3, _same(970), _same(1100), _same(1220), "ISO 898-1"),
        StrengthClass(
            "A574",
            12.7e-3,
            (140 * KSI_PA, 135 * KSI_PA),
            (153 * KSI_PA, 153 * KSI_PA),
            (180 * KSI_PA, 170 * KSI_PA),
            "ASTM A574",
        ),
    )
}


def proof_pa(strength: str, d_m: float) -> float:
    """Proof stress: what the screw carries without a lasting stretch."""
    return _of_diameter(_class_of(strength).proof_pa, strength, d_m)


def yield_pa(strength: str, d_m: float) -> float:
    """Least 0.2 % proof stress."""
    return _of_diameter(_class_of(strength).yield_pa, strength, d_m)


def tensile_pa(strength: str, d_m: float) -> float:
    """Least tensile strength."""
    return _of_diameter(_class_of(strength).tensile_pa, strength, d_m)


def _class_of(strength: str) -> StrengthClass:
    if strength not in STRENGTH_CLASSES:
        known = ", ".join(STRENGTH_CLASSES)
        raise ImpossibleInput(
            f"strength class {strength} is not in the table; write one of {known}"
        )
    return STRENGTH_CLASSES[strength]


def _of_diameter(pair: tuple[float, float], strength: str, d_m: float) -> float:
    return pair[0] if d_m <= _class_of(strength).split_m * (1 + 1e-9) else pair[1]
