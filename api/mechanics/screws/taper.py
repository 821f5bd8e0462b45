"""A screw with a tapered head that turns between two jaws and spreads them.

Half-angle beta, mean contact radius rc, pitch P, lengths in m. The cone slides almost along its
circumference: tan psi = P/(2 pi cos beta)/rc, so its friction takes torque, hardly any tension.
Per jaw with normal force N: tension Fa/2 = N (sin beta + mu sin psi cos beta).
Derived from the balance of the cone on a helical path; checked by its work balance without friction.
"""

from __future__ import annotations

import math

import numpy as np

from api.mechanics.screws.geometry import Thread
from api.mechanics.screws.tension import thread_arm_m
from api.mechanics.screws.values import Values, require, require_friction, require_positive


def slide_angle_rad(thread: Thread, half_angle_rad: Values, radius_m: Values) -> Values:
    """psi: how far the sliding of the cone leaves its circumference; about 2 degrees."""
    require(
        (np.asarray(half_angle_rad) > 0) & (np.asarray(half_angle_rad) < math.pi / 2),
        "the half-angle of the cone must lie between 0 and 90 degrees; correct it",
    )
    require_positive("contact radius of the cone", radius_m)
    slope = thread.pitch_m / (2 * math.pi * np.cos(half_angle_rad)) / radius_m
    return np.arctan(slope)


def tension_per_normal(
    thread: Thread, half_angle_rad: Values, radius_m: Values, mu_cone: Values
) -> Values:
    """Fa/N = 2 (sin beta + mu sin psi cos beta) of a cone between two jaws."""
    require_friction("cone", mu_cone)
    psi = slide_angle_rad(thread, half_angle_rad, radius_m)
    return 2 * (np.sin(half_angle_rad) + mu_cone * np.sin(psi) * np.cos(half_angle_rad))


def tapered_arm_m(
    thread: Thread,
    half_angle_rad: Values,
    radius_m: Values,
    mu_thread: Values,
    mu_cone: Values,
) -> Values:
    """Torque per tension, in m: the cone takes the place of the head.

    T/Fa = (d2/2) tan(phi + rho') + 2 mu rc cos psi/(Fa/N).
    """
    psi = slide_angle_rad(thread, half_angle_rad, radius_m)
    per_normal = tension_per_normal(thread, half_angle_rad, radius_m, mu_cone)
    cone_m = 2 * mu_cone * radius_m * np.cos(psi) / per_normal
    return thread_arm_m(thread, mu_thread) + cone_m
