"""A torque wrench lengthened by an adapter in line with it, such as a crow-foot.

Torques in one unit and lengths in one unit, whichever they are. A negative adapter length shortens
the wrench; an adapter at a right angle changes nothing and is length 0.
"""

from __future__ import annotations

from api.mechanics.screws.values import require, require_positive


def wrench_setting(target: float, wrench_length: float, adapter_length: float) -> float:
    """What to set so that the screw gets the target: T L/(L + a)."""
    _require_lengths(wrench_length, adapter_length)
    return target * wrench_length / (wrench_length + adapter_length)


def _require_lengths(wrench_length: float, adapter_length: float) -> None:
    require_positive("length of the wrench", wrench_length)
    require(
        wrench_length + adapter_length > 0,
        "an adapter cannot shorten the wrench to nothing; give the length of each to the drive's axis",
    )
