"""Torque and tension of a screw.

A torque is an arm times a tension, T = a F. The arm of a screw that turns under its head is that
of its thread plus that of its head. Symbols: d2 pitch diameter, P pitch, phi lead angle,
mu' = mu/cos 30 deg, Db bearing diameter; lengths in m, forces in N, torques in N·m. Friction is one
number or an array (k,), and so is every result.

Valid for a 60 degree thread of one start, pulled smoothly, with no prevailing torque and below
yield. The bearing pressure is idealised as a ring at Db/2.
"""

from __future__ import annotations

import math

from api.mechanics.screws.geometry import Thread
from api.mechanics.screws.values import (
    Values,
    require,
    require_friction,
    require_not_negative,
)

COS_30 = math.cos(math.radians(30))


def thread_arm_m(thread: Thread, mu: Values) -> Values:
    """(d2/2)(tan phi + mu')/(1 - mu' tan phi), in m, the same shape as mu (ISO 16047).

    Raises ImpossibleInput where mu' tan phi reaches 1: the thread jams.
    """
    require_friction("thread", mu)
    tan_phi, mu_60 = math.tan(thread.lead_angle_rad), mu / COS_30
    require(
        mu_60 * tan_phi < 1,
        f"a friction this high jams the thread {thread.name}; give one below {COS_30 / tan_phi:.3g}",
    )
    return thread.d2_m / 2 * (tan_phi + mu_60) / (1 - mu_60 * tan_phi)


def head_arm_m(bearing_m: float, mu: Values) -> Values:
    """mu Db/2."""
    require_friction("head", mu)
    return mu * bearing_m / 2


def headed_arm_m(
    thread: Thread, mu_thread: Values, mu_head: Values, bearing_m: float | None = None
) -> Values:
    """Arm of a screw that turns under its head; exact.

    T/F = (d2/2)(tan phi + mu')/(1 - mu' tan phi) + mu_head Db/2. Checked against the two forms below.
    """
    return thread_arm_m(thread, mu_thread) + head_arm_m(_bearing(thread, bearing_m), mu_head)


def linear_arm_m(
    thread: Thread, mu_thread: Values, mu_head: Values, bearing_m: float | None = None
) -> Values:
    """The arm of VDI 2230, linear in friction: 0.16 P + 0.58 d2 mu + mu_head Db/2."""
    require_friction("thread", mu_thread)
    straight = 0.16 * thread.pitch_m + 0.58 * thread.d2_m * mu_thread
    return straight + head_arm_m(_bearing(thread, bearing_m), mu_head)


def tension_n(
    thread: Thread,
    torque_nm: Values,
    mu_thread: Values,
    mu_head: Values,
    bearing_m: float | None = None,
) -> Values:
    """Tension a tightening torque gives, F = T/a with the exact arm."""
    require_not_negative("torque", torque_nm)
    return torque_nm / headed_arm_m(thread, mu_thread, mu_head, bearing_m)


def torque_nm(
    thread: Thread,
    tension_n: Values,
    mu_thread: Values,
    mu_head: Values,
    bearing_m: float | None = None,
) -> Values:
    """Tightening torque for a tension, T = a F with the exact arm."""
    require_not_negative("tension", tension_n)
    return tension_n * headed_arm_m(thread, mu_thread, mu_head, bearing_m)


def _bearing(thread: Thread, bearing_m: float | None) -> float:
    return thread.bearing_m if bearing_m is None else bearing_m
