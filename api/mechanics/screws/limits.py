"""How far a screw may be pulled: yield with torsion, share of proof, equivalent stress."""

from __future__ import annotations

import math

import numpy as np

from api.mechanics.screws.geometry import Thread
from api.mechanics.screws.strength_classes import proof_pa, yield_pa
from api.mechanics.screws.tension import linear_arm_m
from api.mechanics.screws.values import Values, require_friction, require_not_negative

UTILISATION = 0.9


def tension_at_yield_n(thread: Thread, strength: str, mu: Values) -> Values:
    """Tension at 90 % of yield with the torsion of tightening (form of VDI 2230, step R7).

    F = As' 0.9 Rp0.2/sqrt(1 + 3 [1.5 (d2/d0)(P/(pi d2) + 1.155 mu)]^2), As' = pi/4 d0^2,
    d0 = (d2 + d3)/2; mu of the thread, the same shape as the result.
    """
    require_friction("thread", mu)
    d0_m, d2_m = thread.d0_m, thread.d2_m
    torsion = 1.5 * d2_m / d0_m * (thread.pitch_m / (math.pi * d2_m) + 1.155 * mu)
    allowed_n = math.pi / 4 * d0_m**2 * UTILISATION * yield_pa(strength, thread.d_m)
    return allowed_n / np.sqrt(1 + 3 * torsion**2)


def torque_at_yield_nm(
    thread: Thread, strength: str, mu: Values, bearing_m: float | None = None
) -> Values:
    """Tightening torque of a headed screw at 90 % of yield, in the linear form of VDI 2230."""
    return tension_at_yield_n(thread, strength, mu) * linear_arm_m(thread, mu, mu, bearing_m)


def proof_load_n(thread: Thread, strength: str) -> float:
    """Proof stress of the class times the stress area."""
    return proof_pa(strength, thread.d_m) * thread.stress_area_m2


def proof_share(thread: Thread, strength: str, tension_n: Values) -> Values:
    """Tension as a share of the proof load; above 0.75 to 0.9 a screw deserves a warning."""
    require_not_negative("tension", tension_n)
    return tension_n / proof_load_n(thread, strength)
