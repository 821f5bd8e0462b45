"""The thread cut in the plate: how many turns carry, and the tension at which they may strip."""

from __future__ import annotations

import math

from api.mechanics.screws.geometry import Thread
from api.mechanics.screws.values import require_not_negative

STRIP_FACTOR = 2.0
LEAST_FULL_THREADS = 3.0
RUN_IN_PITCHES = 0.8


def full_threads(thread: Thread, engagement_m: float) -> float:
    """Threads that carry: the engaged length less 0.8 P for run-in and chamfer."""
    require_not_negative("engaged length", engagement_m)
    return max(0.0, engagement_m - RUN_IN_PITCHES * thread.pitch_m) / thread.pitch_m


def least_engagement_m(thread: Thread) -> float:
    """Engagement that leaves the least number of full threads."""
    return (LEAST_FULL_THREADS + RUN_IN_PITCHES) * thread.pitch_m


def strip_tension_n(thread: Thread, engagement_m: float, plate_yield_pa: float) -> float:
    """Tension that the thread cut in the plate may carry.

    Shear area of the internal thread, pi d n (P/2 + (d - d2) tan 30 deg) with n full threads, at the
    plate's shear yield (yield/sqrt 3), divided by 2. The divisor puts M12 at 1.0 d and at 0.5 d and M6
    at 1.0 d engagement within 20 % of the working torques shops publish for aluminium plates
    (61, 24.5 and 8.5 N·m at a nut factor of 0.2).
    """
    require_not_negative("yield stress of the plate", plate_yield_pa)
    flank_m = thread.pitch_m / 2 + (thread.d_m - thread.d2_m) * math.tan(math.radians(30))
    area_m2 = math.pi * thread.d_m * flank_m * full_threads(thread, engagement_m)
    return area_m2 * plate_yield_pa / math.sqrt(3) / STRIP_FACTOR
