"""Other forms of torque and tension, beside the exact one."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from api.mechanics.screws.geometry import Thread, _require_ring
from api.mechanics.screws.tension import (
    COS_30,
    _bearing,
    head_arm_m,
    headed_arm_m,
    thread_arm_m,
)
from api.mechanics.screws.values import (
    Values,
    require,
    require_friction,
    require_not_negative,
    require_positive,
)
from api.mechanics.screws.wrench import _require_lengths
from api.mechanics.side_force.forces import Frictions
from api.mechanics.side_force.spreading import Spreading


@dataclass(frozen=True)
class TorqueSplit:
    """Shares of the tightening torque: lifting the load, thread friction, head friction; sum 1."""

    pitch: Values
    thread: Values
    head: Values


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


def von_mises_pa(thread: Thread, tension_n: Values, thread_torque_nm: Values) -> Values:
    """Equivalent stress while tightening, elastic, on the stress area.

    sigma = F/As, tau = 16 Tt/(pi d^3) with d the diameter of As and Tt the torque in the thread,
    without that of the head; sqrt(sigma^2 + 3 tau^2).
    """
    area_m2 = thread.stress_area_m2
    d_m = math.sqrt(4 * area_m2 / math.pi)
    sigma, tau = tension_n / area_m2, 16 * thread_torque_nm / (math.pi * d_m**3)
    return np.sqrt(sigma**2 + 3 * tau**2)


def uniform_bearing_m(head_m: float, hole_m: float) -> float:
    """Db = (2/3)(Do^3 - dh^3)/(Do^2 - dh^2): exact for an even pressure on the ring.

    Derived from the moment of an even pressure; about 1 % above the mean of the two diameters.
    """
    _require_ring(head_m, hole_m)
    return 2 / 3 * (head_m**3 - hole_m**3) / (head_m**2 - hole_m**2)


def torque_at_screw(setting: float, wrench_length: float, adapter_length: float) -> float:
    """What the screw gets at a setting: S (L + a)/L."""
    _require_lengths(wrench_length, adapter_length)
    return setting * (wrench_length + adapter_length) / wrench_length


def efficiency(spreader: Spreading, torque_nm: Values, friction: Frictions) -> Values:
    """Work at both jaws over work of the torque: 2 S travel/(2 pi T)."""
    side_n = spreader.side_force(torque_nm, friction).side_n
    return 2 * side_n * spreader.travel_per_turn_m() / (2 * math.pi * torque_nm)
