"""Thread sizes of clamp screws with socket heads.

Metric: pitches ISO 261, head diameter dk ISO 4762, clearance hole dh ISO 273 medium.
Inch: ASME B1.1, heads ASME B18.3, normal holes ASME B18.2.8.
"""

from __future__ import annotations

from api.mechanics.screws.geometry import Thread, mean_bearing_m

INCH_M = 0.0254

# name, d, P, dk, dh in mm
_METRIC = (
    ("M4", 4, 0.7, 7, 4.5),
    ("M5", 5, 0.8, 8.5, 5.5),
    ("M6", 6, 1.0, 10, 6.6),
    ("M8", 8, 1.25, 13, 9),
    ("M8x1", 8, 1.0, 13, 9),
    ("M10", 10, 1.5, 16, 11),
    ("M10x1.25", 10, 1.25, 16, 11),
    ("M12", 12, 1.75, 18, 13.5),
    ("M12x1.25", 12, 1.25, 18, 13.5),
    ("M14", 14, 2.0, 21, 15.5),
    ("M16", 16, 2.0, 24, 17.5),
    ("M20", 20, 2.5, 30, 22),
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


def _metric(name: str, d_mm: float, pitch_mm: float, head_mm: float, hole_mm: float) -> Thread:
    bearing_m = mean_bearing_m(head_mm / 1e3, hole_mm / 1e3)
    return Thread(name, d_mm / 1e3, pitch_mm / 1e3, bearing_m)


def _inch(name: str, d_in: float, per_inch: int, head_in: float, hole_in: float) -> Thread:
    bearing_m = mean_bearing_m(head_in * INCH_M, hole_in * INCH_M)
    return Thread(name, d_in * INCH_M, INCH_M / per_inch, bearing_m, inch=True)


THREADS: dict[str, Thread] = {row[0]: _metric(*row) for row in _METRIC} | {
    row[0]: _inch(*row) for row in _INCH
}
