"""Published friction classes of threads and heads, and what coolant makes of a friction.

Published tables contradict each other; a friction is a test result for one screw, one pair of
surfaces and one lubricant. Measured values take the place of these.
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


# A friction washed out moves from the middle of its class (0 stays) to the middle of the next.
_CENTRES = [
    (band.low + band.high) / 2 for band in FRICTION_CLASSES.values() if band.high is not None
]
_MIDDLES = np.array([0.0, *_CENTRES[:-1]])
_NEXT = np.array([0.0, *_CENTRES[1:]])


def one_class_worse(mu: Values) -> Values:
    """Friction after a shift of flood coolant: that of the next class, same shape as mu.

    Straight between the middles of the classes of VDI 2230 (0.07, 0.12, 0.19 become 0.12, 0.19,
    0.275), from 0 to 0 below, and 0.085 more above. An assumption: coolant washes grease out.
    """
    require_friction("washed surface", mu)
    inside = np.asarray(np.interp(mu, _MIDDLES, _NEXT), dtype=np.float64)
    return inside + np.maximum(mu - float(_MIDDLES[-1]), 0.0)
