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
from dataclasses import dataclass

import numpy as np

from api.mechanics.screws.geometry import Thread
from api.mechanics.screws.values import (
    Values,
    require,
    require_friction,
    require_not_negative,
    require_positive,
)

COS_30 = math.cos(math.radians(30))


@dataclass(frozen=True)
class TorqueSplit:
    """Shares of the tightening torque: lifting the load, thread friction, head friction; sum 1."""

    pitch: Values
    thread: Values
    head: Values


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


def iso_16047_arm_m(
    thread: Thread, mu_thread: Values, mu_head: Values, bearing_m: float | None = None
) -> Values:
    """The arm as ISO 16047 prints it, with 1.154 for 1/cos 30 deg.

    T/F = (1/2)(P + 1.154 pi mu d2)/(pi - 1.154 mu P/d2) + mu_head Db/2.
    """
    mu = 1.154 * mu_thread
    require_friction("thread", mu_thread)
    top = thread.pitch_m + math.pi * mu * thread.d2_m
    return top / (math.pi - mu * thread.pitch_m / thread.d2_m) / 2 + head_arm_m(
        _bearing(thread, bearing_m), mu_head
    )


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


def torque_split(
    thread: Thread, mu_thread: Values, mu_head: Values, bearing_m: float | None = None
) -> TorqueSplit:
    """Where the torque goes: F P/(2 pi) does work, the rest is friction in thread and head."""
    thread_m = thread_arm_m(thread, mu_thread)
    head_m = head_arm_m(_bearing(thread, bearing_m), mu_head)
    pitch_m, whole_m = thread.pitch_m / (2 * math.pi), thread_m + head_m
    return TorqueSplit(pitch_m / whole_m, (thread_m - pitch_m) / whole_m, head_m / whole_m)


def loosening_torque_nm(
    thread: Thread,
    tension_n: Values,
    mu_thread: Values,
    mu_head: Values,
    bearing_m: float | None = None,
) -> Values:
    """Torque that starts to undo a screw under tension, with static friction.

    F [(d2/2)(mu' - tan phi)/(1 + mu' tan phi) + mu_head Db/2]. Negative: it undoes itself.
    """
    require_not_negative("tension", tension_n)
    require_friction("thread", mu_thread)
    tan_phi, mu_60 = math.tan(thread.lead_angle_rad), mu_thread / COS_30
    thread_m = thread.d2_m / 2 * (mu_60 - tan_phi) / (1 + mu_60 * tan_phi)
    return tension_n * (thread_m + head_arm_m(_bearing(thread, bearing_m), mu_head))


def nut_factor(
    thread: Thread, mu_thread: Values, mu_head: Values, bearing_m: float | None = None
) -> Values:
    """K of the short form T = K F d."""
    return headed_arm_m(thread, mu_thread, mu_head, bearing_m) / thread.d_m


def tension_by_nut_factor_n(d_m: float, torque_nm: Values, k: Values) -> Values:
    """F = T/(K d)."""
    require_positive("diameter", d_m)
    require_positive("nut factor", k)
    require_not_negative("torque", torque_nm)
    return torque_nm / (k * d_m)


def torque_by_nut_factor_nm(d_m: float, tension_n: Values, k: Values) -> Values:
    """T = K F d."""
    require_positive("diameter", d_m)
    require_positive("nut factor", k)
    require_not_negative("tension", tension_n)
    return k * tension_n * d_m


def tension_gain_n(
    thread: Thread, turn_rad: Values, screw_m_per_n: Values, joint_m_per_n: Values
) -> Values:
    """Tension gained by a turn once the screw is snug, whatever the friction.

    dF = (turn/2 pi) P/(delta_S + delta_P), compliances of screw and joint in m/N.
    """
    compliance = screw_m_per_n + joint_m_per_n
    require_positive("compliance of screw and joint", compliance)
    require(np.isfinite(turn_rad), "the angle turned must be a number; correct it")
    return turn_rad / (2 * math.pi) * thread.pitch_m / compliance


def _bearing(thread: Thread, bearing_m: float | None) -> float:
    return thread.bearing_m if bearing_m is None else bearing_m
