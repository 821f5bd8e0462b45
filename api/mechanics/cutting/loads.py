"""What a cut asks of the grip: the worst force and moment over a turn of the tool."""

from dataclasses import dataclass
from functools import singledispatch
from math import cos, degrees, pi, radians, sin, tan

from api.mechanics.cutting.drills import (
    BREAK_THROUGH_SHARE,
    DrillCut,
    drill_chip_m,
    drill_power_w,
    drill_thrust_n,
    drill_torque_nm,
)
from api.mechanics.cutting.kienzle import THIN_CHIP_M, mean_chip_m, mean_total_n
from api.mechanics.cutting.materials import KC_SPREAD_NOTE
from api.mechanics.cutting.mills import MillCut
from api.mechanics.cutting.tooth_sum import tooth_sum

NORMAL_SHARE = 0.4
ASSUMED_HELIX_RAD = radians(30.0)

NORMAL_ASSUMED = (
    "Force square to the cutting edge is 0.4 of the tangential force (usual range 0.3 to 0.5)."
)
HELIX_ASSUMED = (
    "Helix not given: a 30 deg right-hand helix is assumed for the lift, and none for the smoothing"
    " of the peak."
)
FACE_ASSUMED = (
    "A face mill with a lead angle below 90 deg presses down with the cosine of the lead angle of"
    " the force square to its edge, and does not lift."
)
THRUST_ASSUMED = (
    "Drill thrust: force along the normal of each lip equal to its cutting force, half of it by"
    " the lips and half by the chisel edge."
)
BREAK_THROUGH_ASSUMED = "A drill that breaks through lifts with half of its thrust."
SIDE_ASSUMED = "A side cut acts where the edge meets the part: no moment about that point is added."
THIN_CHIP_NOTE = (
    "Mean chip thinner than 0.02 mm: the force law is not known there, the real force can be"
    " higher."
)
FULL_SLOT_NOTE = (
    "Full slot: chips may be cut again and the cutter may chatter; neither is in the force."
)


@dataclass(frozen=True)
class CutLoad:
    """What the grip must carry, N, N·m, W, m.

    horizontal_n: peak of the vector sum of all teeth in the plane square to the tool, in any
    direction; up_n, down_n: peak along the tool, each possibly 0 at another moment;
    torque_nm: about the tool's axis, clockwise seen from above (right-hand cutter);
    tangential_n: peak of the sum of sizes; mean_n: mean of it, from the mean chip.
    power_w is None if no cutting speed was given.
    """

    horizontal_n: float
    up_n: float
    down_n: float
    torque_nm: float
    tangential_n: float
    mean_n: float
    power_w: float | None
    chip_m: float
    assumed: tuple[str, ...]
    notes: tuple[str, ...]


@singledispatch
def cut_load(cut: MillCut | DrillCut, speed_m_s: float | None = None) -> CutLoad:
    """The load of a cut on the grip; raises TypeError for anything but a mill or drill cut."""
    raise TypeError(f"cannot compute the load of {type(cut).__name__}")


@cut_load.register
def _(cut: MillCut, speed_m_s: float | None = None) -> CutLoad:
    """Milling: the tooth sum with its normal force split by the lead angle.

    Of the normal force 0.4 Ft the share sin κ acts radially and cos κ axially;
    a helix β lifts with up to Ft tan β.
    """
    sums = tooth_sum(cut, NORMAL_SHARE * sin(cut.lead_rad))
    mean_n, chip_m = mean_total_n(cut), mean_chip_m(cut)
    lift_rad, lift_assumed = lifting_helix(cut)
    presses = cut.kind == "face" and not _is_square(cut)
    turns_part = cut.kind != "side"
    return CutLoad(
        horizontal_n=sums.resultant_n,
        up_n=sums.tangential_n * tan(lift_rad),
        down_n=sums.tangential_n * NORMAL_SHARE * cos(cut.lead_rad) if presses else 0.0,
        torque_nm=sums.tangential_n * cut.diameter_m / 2 if turns_part else 0.0,
        tangential_n=sums.tangential_n,
        mean_n=mean_n,
        power_w=None if speed_m_s is None else mean_n * speed_m_s,
        chip_m=chip_m,
        assumed=(
            KC_SPREAD_NOTE,
            NORMAL_ASSUMED,
            *lift_assumed,
            *((FACE_ASSUMED,) if presses else ()),
            *(() if turns_part else (SIDE_ASSUMED,)),
        ),
        notes=_notes(chip_m, full_slot=cut.kind == "slot" or cut.width_m >= cut.diameter_m),
    )


@cut_load.register
def _(cut: DrillCut, speed_m_s: float | None = None) -> CutLoad:
    """Drilling: thrust down, torque, and a lift at break-through."""
    thrust_n, torque_nm = drill_thrust_n(cut), drill_torque_nm(cut)
    tangential_n = 4 * torque_nm / cut.diameter_m
    return CutLoad(
        horizontal_n=0.0,
        up_n=BREAK_THROUGH_SHARE * thrust_n,
        down_n=thrust_n,
        torque_nm=torque_nm,
        tangential_n=tangential_n,
        mean_n=tangential_n,
        power_w=None if speed_m_s is None else drill_power_w(cut, speed_m_s),
        chip_m=drill_chip_m(cut),
        assumed=(KC_SPREAD_NOTE, THRUST_ASSUMED, BREAK_THROUGH_ASSUMED),
        notes=_notes(drill_chip_m(cut), full_slot=False),
    )


def lifting_helix(cut: MillCut) -> tuple[float, tuple[str, ...]]:
    """The helix that lifts the part and, if it had to be assumed, the sentence that says so."""
    if cut.kind == "face" and not _is_square(cut):
        return 0.0, ()
    if cut.helix_rad is not None:
        return cut.helix_rad, ()
    if cut.kind == "face":
        return 0.0, ()
    return ASSUMED_HELIX_RAD, (HELIX_ASSUMED,)


def _is_square(cut: MillCut) -> bool:
    return degrees(abs(cut.lead_rad - pi / 2)) < 1e-6


def _notes(chip_m: float, *, full_slot: bool) -> tuple[str, ...]:
    thin = (THIN_CHIP_NOTE,) if chip_m < THIN_CHIP_M else ()
    return (*thin, *((FULL_SLOT_NOTE,) if full_slot else ()))
