"""Thread sizes of clamp screws and the strength classes they come in.

Geometry by ISO 68-1/724, ISO 898-1 and ASME B1.1:
    d2 = d - 0.649519 P,  d3 = d - 1.226869 P
    As = (pi/4) ((d2 + d3)/2)^2            metric
    As = 0.7854 (D - 0.9743/n)^2           inch, D and 1/n in inches
Bearing diameter Db = (head diameter + clearance hole)/2 with heads of ISO 4762 and holes of
ISO 273 medium; for inch sizes heads of ASME B18.3 and normal holes of ASME B18.2.8.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

INCH_MM = 25.4


@dataclass(frozen=True)
class Thread:
    """`d_mm` outside diameter, `pitch_mm`, `bearing_mm` mean diameter under a socket head."""

    name: str
    d_mm: float
    pitch_mm: float
    bearing_mm: float
    inch: bool = False

    @property
    def d2_mm(self) -> float:
        """Pitch diameter."""
        return self.d_mm - 0.649519 * self.pitch_mm

    @property
    def d3_mm(self) -> float:
        """Root diameter of the screw."""
        return self.d_mm - 1.226869 * self.pitch_mm

    @property
    def stress_area_mm2(self) -> float:
        if self.inch:
            return 0.7854 * (self.d_mm - 0.9743 * self.pitch_mm) ** 2
        return math.pi / 4 * ((self.d2_mm + self.d3_mm) / 2) ** 2

    @property
    def lead_angle_rad(self) -> float:
        return math.atan(self.pitch_mm / (math.pi * self.d2_mm))


# name, d, P, Db in mm
_METRIC = (
    ("M4", 4, 0.7, 5.75),
    ("M5", 5, 0.8, 7.0),
    ("M6", 6, 1.0, 8.3),
    ("M8", 8, 1.25, 11.0),
    ("M8x1", 8, 1.0, 11.0),
    ("M10", 10, 1.5, 13.5),
    ("M10x1.25", 10, 1.25, 13.5),
    ("M12", 12, 1.75, 15.75),
    ("M12x1.25", 12, 1.25, 15.75),
    ("M14", 14, 2.0, 18.25),
    ("M16", 16, 2.0, 20.75),
    ("M20", 20, 2.5, 26.0),
)
# name, D, threads per inch, head diameter, clearance hole in inches
_INCH = (
    ("8-32", 0.164, 32, 0.270, 0.196),
    ("10-24", 0.190, 24, 0.312, 0.221),
    ("10-32", 0.190, 32, 0.312, 0.221),
    ("1/4-20", 0.250, 20, 0.375, 0.281),
    ("1/4-28", 0.250, 28, 0.375, 0.281),
    ("5/16-18", 0.3125, 18, 0.469, 0.344),
    ("5/16-24", 0.3125, 24, 0.469, 0.344),
    ("3/8-16", 0.375, 16, 0.562, 0.406),
    ("3/8-24", 0.375, 24, 0.562, 0.406),
    ("7/16-14", 0.4375, 14, 0.656, 0.469),
    ("1/2-13", 0.5, 13, 0.750, 0.562),
    ("1/2-20", 0.5, 20, 0.750, 0.562),
    ("5/8-11", 0.625, 11, 0.938, 0.688),
    ("3/4-10", 0.75, 10, 1.125, 0.812),
)
THREADS: dict[str, Thread] = {
    name: Thread(name, float(d), pitch, bearing) for name, d, pitch, bearing in _METRIC
} | {
    name: Thread(name, d * INCH_MM, INCH_MM / per_inch, (head + hole) / 2 * INCH_MM, inch=True)
    for name, d, per_inch, head, hole in _INCH
}
_COARSE = {thread.name: thread.pitch_mm for thread in THREADS.values() if "x" not in thread.name}


def thread_of(text: str) -> Thread | None:
    """The thread a text names ("M8", "M8x1.25", "M8×1", "5/16-18 UNC"), or None."""
    plain = text.strip().replace("×", "x").replace("X", "x").replace(" ", "")
    plain = re.sub(r"(?:UNC|UNF|-?2A|-?3A)$", "", plain, flags=re.IGNORECASE).removeprefix("#")
    plain = plain[:1].upper() + plain[1:]
    if plain in THREADS:
        return THREADS[plain]
    size, _, pitch = plain.partition("x")
    if size in _COARSE and pitch in {f"{_COARSE[size]:g}", f"{_COARSE[size]:.2f}"}:
        return THREADS[size]
    return None


def yield_mpa(strength: str, d_mm: float) -> float:
    """Least 0.2 % proof stress of a strength class (ISO 898-1; ASTM A574: 153 ksi)."""
    match strength:
        case "8.8":
            return 640.0 if d_mm <= 16 else 660.0
        case "10.9":
            return 940.0
        case "12.9":
            return 1100.0
        case "A574":
            return 1054.9
        case _:
            raise ValueError(f"strength class {strength} has no yield stress in the table")


def proof_mpa(strength: str, d_mm: float) -> float:
    """Proof stress of a strength class (ISO 898-1; ASTM A574: 140 ksi to 1/2 in, 135 ksi above)."""
    match strength:
        case "8.8":
            return 580.0 if d_mm <= 16 else 600.0
        case "10.9":
            return 830.0
        case "12.9":
            return 970.0
        case "A574":
            return 965.3 if d_mm <= 12.7 else 930.8
        case _:
            raise ValueError(f"strength class {strength} has no proof stress in the table")
