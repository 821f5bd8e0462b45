"""How much torque the screw of a clamp and its thread in the plate may see.

Symbols: d2 pitch diameter, P pitch, phi lead angle, mu friction of all surfaces (the lowest the
grease can have gives the highest tension for a torque), Db bearing diameter, beta half-angle of
a cone, rc its contact radius. Lengths in mm, forces in N, torques in N·m, stresses in MPa.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from api.domain.threads import Thread, yield_mpa

UTILISATION = 0.9
STRIP_FACTOR = 2.0
LEAST_FULL_THREADS = 3.0
COS_30 = math.cos(math.radians(30))


@dataclass(frozen=True)
class Cap:
    """The torque at which something gives, and what it is."""

    torque_nm: float
    what: str


def thread_torque_per_newton_m(thread: Thread, mu: float) -> float:
    """(d2/2)(tan phi + mu')/(1 - mu' tan phi), mu' = mu/cos 30 deg; in N·m per N (ISO 16047)."""
    tan_phi, mu_thread = math.tan(thread.lead_angle_rad), mu / COS_30
    return thread.d2_mm / 2 * (tan_phi + mu_thread) / (1 - mu_thread * tan_phi) / 1e3


def headed_torque_per_newton_m(thread: Thread, mu: float, bearing_mm: float | None = None) -> float:
    """Thread and head friction of a screw that turns under its head; N·m per N of tension."""
    bearing = thread.bearing_mm if bearing_mm is None else bearing_mm
    return thread_torque_per_newton_m(thread, mu) + mu * bearing / 2 / 1e3


def cone_torque_per_newton_m(
    thread: Thread, mu: float, half_angle_deg: float, radius_mm: float
) -> float:
    """A tapered screw turning between two jaws: its cone takes the place of the head.

    T/Fa = (d2/2) tan(phi + rho') + 2 mu N rc cos psi / Fa, Fa = 2 N (sin beta + mu sin psi cos beta),
    tan psi = P/(2 pi cos beta)/rc.
    """
    beta = math.radians(half_angle_deg)
    psi = math.atan(thread.pitch_mm / (2 * math.pi * math.cos(beta)) / radius_mm)
    tension_per_normal = 2 * (math.sin(beta) + mu * math.sin(psi) * math.cos(beta))
    cone = 2 * mu * radius_mm * math.cos(psi) / tension_per_normal / 1e3
    return thread_torque_per_newton_m(thread, mu) + cone


def tension_at_90_percent_n(thread: Thread, strength: str, mu: float) -> float:
    """Tension at 90 % of yield with the torsion of the thread (form of VDI 2230, step R7).

    F = As' 0.9 Rp0.2 / sqrt(1 + 3 [1.5 (d2/d0)(P/(pi d2) + 1.155 mu)]^2), d0 = (d2 + d3)/2.
    """
    d0 = (thread.d2_mm + thread.d3_mm) / 2
    torsion = 1.5 * thread.d2_mm / d0 * (thread.pitch_mm / (math.pi * thread.d2_mm) + 1.155 * mu)
    area = math.pi / 4 * d0**2
    return area * UTILISATION * yield_mpa(strength, thread.d_mm) / math.sqrt(1 + 3 * torsion**2)


def tightening_torque_nm(
    thread: Thread, strength: str, mu: float, bearing_mm: float | None = None
) -> float:
    """Torque of a headed screw at 90 % of yield, linear form: F (0.16 P + 0.58 d2 mu + Db mu/2)."""
    bearing = thread.bearing_mm if bearing_mm is None else bearing_mm
    arm_mm = 0.16 * thread.pitch_mm + 0.58 * thread.d2_mm * mu + bearing / 2 * mu
    return tension_at_90_percent_n(thread, strength, mu) * arm_mm / 1e3


def full_threads(thread: Thread, engagement_mm: float) -> float:
    """Threads that carry: the engaged length less 0.8 P for run-in and chamfer."""
    return max(0.0, engagement_mm - 0.8 * thread.pitch_mm) / thread.pitch_mm


def strip_tension_n(thread: Thread, engagement_mm: float, plate_yield_mpa: float) -> float:
    """Tension that the thread cut in the plate may carry.

    Shear area of the internal thread, pi d n (P/2 + (d - d2) tan 30 deg) with n full threads, at the
    plate's shear yield (yield/sqrt 3), divided by 2. The divisor puts M12 at 1.0 d and at 0.5 d and M6
    at 1.0 d engagement within 20 % of the working torques shops publish for aluminium plates
    (61, 24.5 and 8.5 N·m at a nut factor of 0.2).
    """
    per_thread = (
        math.pi
        * thread.d_mm
        * (thread.pitch_mm / 2 + (thread.d_mm - thread.d2_mm) * math.tan(math.radians(30)))
    )
    area = per_thread * full_threads(thread, engagement_mm)
    return area * plate_yield_mpa / math.sqrt(3) / STRIP_FACTOR
