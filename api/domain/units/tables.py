"""Units known without asking pint, with what each measures and its factor to SI."""

from __future__ import annotations

import math
from typing import Literal, get_args

Dimension = Literal[
    "length", "torque", "force", "angle", "time", "stiffness", "speed", "pressure", "mass", "share"
]
DIMENSIONS: tuple[Dimension, ...] = get_args(Dimension)

INCH_M = 0.0254
FOOT_M = 0.3048
POUND_FORCE_N = 4.4482216152605
POUND_KG = 0.45359237

UNITS: dict[str, tuple[Dimension, float]] = {
    "mm": ("length", 1e-3),
    "m": ("length", 1.0),
    "cm": ("length", 1e-2),
    "µm": ("length", 1e-6),
    "in": ("length", INCH_M),
    "ft": ("length", FOOT_M),
    "N*m": ("torque", 1.0),
    "N*mm": ("torque", 1e-3),
    "lbf*in": ("torque", POUND_FORCE_N * INCH_M),
    "lbf*ft": ("torque", POUND_FORCE_N * FOOT_M),
    "N": ("force", 1.0),
    "kN": ("force", 1e3),
    "lbf": ("force", POUND_FORCE_N),
    "deg": ("angle", math.pi / 180),
    "rad": ("angle", 1.0),
    "s": ("time", 1.0),
    "min": ("time", 60.0),
    "h": ("time", 3600.0),
    "N/m": ("stiffness", 1.0),
    "N/mm": ("stiffness", 1e3),
    "N/µm": ("stiffness", 1e6),
    "kN/mm": ("stiffness", 1e6),
    "lbf/in": ("stiffness", POUND_FORCE_N / INCH_M),
    "m/s": ("speed", 1.0),
    "m/min": ("speed", 1 / 60),
    "ft/min": ("speed", FOOT_M / 60),
    "Pa": ("pressure", 1.0),
    "MPa": ("pressure", 1e6),
    "GPa": ("pressure", 1e9),
    "kg": ("mass", 1.0),
    "g": ("mass", 1e-3),
    "lb": ("mass", POUND_KG),
    "%": ("share", 0.01),
}
OTHER_SPELLINGS = {
    "m*N": "N*m",
    "in*lbf": "lbf*in",
    "ft*lbf": "lbf*ft",
    "um": "µm",
    "N/um": "N/µm",
    '"': "in",
    "°": "deg",
}
PROBABLY_MEANT = {
    "Nm": "N*m",
    "nm": "N*m",
    "Ncm": "N*m",
    "lb*in": "lbf*in",
    "in*lb": "lbf*in",
    "in-lb": "lbf*in",
    "inlb": "lbf*in",
    "lb*ft": "lbf*ft",
    "ft*lb": "lbf*ft",
    "ft-lb": "lbf*ft",
    "ftlb": "lbf*ft",
    "inch": "in",
    "inches": "in",
    "millimetre": "mm",
    "MM": "mm",
    "sec": "s",
    "degree": "deg",
}
EXAMPLES: dict[Dimension, str] = {
    "length": '"25 mm" or "0.984 in"',
    "torque": '"12 N*m", "106 lbf*in" or "8.9 lbf*ft"',
    "force": '"10 kN" or "2250 lbf"',
    "angle": '"5 deg"',
    "time": '"25 s", "15 min" or "2 h"',
    "stiffness": '"60 kN/mm"',
    "speed": '"400 m/min" or "1300 ft/min"',
    "pressure": '"276 MPa"',
    "mass": '"11 kg"',
    "share": '"15 %"',
}
WIDEST: dict[Dimension, tuple[float, str]] = {
    "length": (10.0, "10 m"),
    "torque": (1000.0, "1000 N*m"),
    "force": (1e6, "1000 kN"),
    "angle": (2 * math.pi, "360 deg"),
    "time": (360_000.0, "100 h"),
    "stiffness": (1e11, "100000 kN/mm"),
    "speed": (100.0, "6000 m/min"),
    "pressure": (1e13, "10000 GPa"),
    "mass": (10_000.0, "10000 kg"),
    "share": (10.0, "1000 %"),
}
SCREEN = {"N*m": "N·m", "lbf*in": "lbf·in", "lbf*ft": "lbf·ft", "mm": "mm", "in": "in"}
