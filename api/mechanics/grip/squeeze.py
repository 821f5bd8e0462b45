"""How much a pressed piece gives way between its faces."""


def squeeze_m(side_n: float, length_m: float, area_m2: float, modulus_pa: float) -> float:
    """How much the piece is shortened between the faces: S L / (A E), m."""
    return side_n * length_m / (area_m2 * modulus_pa)
