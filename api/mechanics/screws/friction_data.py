"""Friction of threads, heads and wedge faces: published bands, and defaults where none was measured.

Published tables contradict each other; a friction or a nut factor is a test result for one screw,
one pair of surfaces and one lubricant. Measured values take the place of these.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from api.mechanics.screws.values import Values, require_friction


@dataclass(frozen=True)
class Band:
    """Lowest and highest value that is met; `high` None where the source gives no upper end."""

    low: float
    high: float | None
    what: str
    source: str


_VDI = "VDI 2230, friction classes"
FRICTION_CLASSES: dict[str, Band] = {
    "A": Band(0.04, 0.10, "solid-lubricant pastes, films and waxes on steel", _VDI),
    "B": Band(0.08, 0.16, "greases and oils on steel as delivered; aluminium with paste", _VDI),
    "C": Band(0.14, 0.24, "lightly oiled steel; plated and dry; stainless with paste", _VDI),
    "D": Band(0.20, 0.35, "stainless with oil; dry zinc; hot-dip", _VDI),
    "E": Band(0.30, None, "dry aluminium, dry stainless", _VDI),
}

_DEFAULT = "default of this program; check by a test"
FACE_FRICTIONS: dict[str, Band] = {
    "steel, moly or EP paste": Band(0.06, 0.12, "hardened steel faces", _DEFAULT),
    "steel, grease": Band(0.08, 0.14, "steel faces, lithium or EP grease", _DEFAULT),
    "steel, oil": Band(0.10, 0.18, "steel faces, oiled", _DEFAULT),
    "steel, dry": Band(0.15, 0.30, "clean dry steel faces", _DEFAULT),
    "aluminium on steel, grease": Band(0.10, 0.18, "aluminium jaw on steel", _DEFAULT),
    "aluminium on steel, dry": Band(0.20, 0.45, "galls, and rises with use", _DEFAULT),
    "anodised aluminium on steel": Band(0.15, 0.30, "anodised jaw on steel", _DEFAULT),
}

_TABLE, _TRADE = "machine design textbook", "fastener supplier's table"
NUT_FACTORS: dict[str, Band] = {
    "black, not plated": Band(0.30, 0.30, "steel", _TABLE),
    "zinc plated": Band(0.20, 0.20, "steel", _TABLE),
    "lubricated": Band(0.18, 0.18, "steel", _TABLE),
    "cadmium plated": Band(0.16, 0.16, "steel", _TABLE),
    "anti-seize": Band(0.12, 0.12, "steel", _TABLE),
    "dry steel": Band(0.18, 0.27, "steel on steel", _TRADE),
    "machine oil": Band(0.10, 0.26, "steel", _TRADE),
    "phosphate and oil": Band(0.15, 0.22, "steel", _TRADE),
    "zinc": Band(0.17, 0.35, "steel", _TRADE),
    "stainless on stainless": Band(0.30, 0.50, "austenitic", _TRADE),
    "moly grease": Band(0.10, 0.18, "steel", "bolting handbook"),
    "dry aluminium thread": Band(0.25, 0.40, "steel screw in aluminium", "low confidence"),
}

# Middles of the classes A to D; a friction washed out moves to the middle of the next class.
_MIDDLES = np.array([0.0, 0.07, 0.12, 0.19])
_NEXT = np.array([0.0, 0.12, 0.19, 0.275])


def one_class_worse(mu: Values) -> Values:
    """Friction after a shift of flood coolant: that of the next class, same shape as mu.

    Straight between the middles of the classes of VDI 2230 (0.07, 0.12, 0.19 become 0.12, 0.19,
    0.275), from 0 to 0 below, and 0.085 more above. An assumption: coolant washes grease out.
    """
    require_friction("washed surface", mu)
    inside = np.asarray(np.interp(mu, _MIDDLES, _NEXT), dtype=np.float64)
    return inside + np.maximum(mu - float(_MIDDLES[-1]), 0.0)
