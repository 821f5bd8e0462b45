"""Friction between a held piece and what holds it, wet with coolant."""

from dataclasses import dataclass
from math import exp
from typing import Final, Literal

from scipy.special import ndtri

Face = Literal["smooth", "fine", "coarse"]

CHUCK_TABLES: Final = (
    "design tables of chuck and collet makers (0.07 to 0.45), well below dry handbook values;"
    " median and spread chosen within them"
)
HARD_PART_PA: Final = 1300e6
HARD_PART_NOTE: Final = (
    "Serrations do not bite into a part above about 1300 MPa: the friction of a smooth face is"
    " used."
)


@dataclass(frozen=True)
class Friction:
    """Log-normal friction: median, and sigma of its logarithm."""

    title: str
    median: float
    sigma: float
    source: str = CHUCK_TABLES

    def at(self, probability: float) -> float:
        """The value that a share of surfaces stays below."""
        return self.median * exp(self.sigma * float(ndtri(probability)))

    @property
    def low(self) -> float:
        return self.at(0.025)

    @property
    def usual(self) -> float:
        return self.median

    @property
    def high(self) -> float:
        return self.at(0.975)


FACES: Final[dict[Face, Friction]] = {
    "smooth": Friction("smooth face, wet", 0.12, 0.25),
    "fine": Friction("fine serration", 0.20, 0.25),
    "coarse": Friction("coarse serration biting into soft stock", 0.35, 0.25),
}
ON_PLATE: Final = Friction("part on plate, wet", 0.12, 0.30)


def face_friction(face: Face, strength_pa: float | None = None) -> Friction:
    """Friction of a face on a part; smooth if the part is too strong for serrations to bite."""
    bites = strength_pa is None or strength_pa <= HARD_PART_PA
    return FACES[face if bites else "smooth"]
