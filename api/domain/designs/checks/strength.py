"""Torques against what clamp, screw and plate stand, and against what is plausible."""

from __future__ import annotations

from api.domain.designs.document import Clamp, Design, Spec
from api.domain.designs.findings import Path, Report
from api.domain.designs.specs import thread_of_spec
from api.domain.designs.strength.caps import pocket_depth_mm, torque_cap
from api.domain.designs.strength.plausible import band_nm, is_plausible, probable_slips
from api.domain.stores import Stores
from api.domain.units import Quantity, to_unit
from api.mechanics.screws.stripping import LEAST_FULL_THREADS, full_threads, least_engagement_m


def check(design: Design, specs: dict[str, Spec], stores: Stores, report: Report) -> None:
    for index, spec in enumerate(design.specs):
        _spec(spec, report, ("spec", index))
    for index, clamp in enumerate(design.clamps):
        spec, path = specs[clamp.spec], ("clamp", index)
        _cap(design, clamp, spec, stores, report, (*path, "torque"))
        _finish(clamp, report, (*path, "finish_torque"))
        _plausible(clamp, spec, report, (*path, "torque"))
        _engagement(design, clamp, spec, report, path)
        _measured_range(clamp, spec, report, (*path, "torque"))


def _spec(spec: Spec, report: Report, path: Path) -> None:
    subject = f"spec {spec.id}"
    if spec.stiffness is None:
        report.note(
            "default-stiffness",
            subject,
            f"no side stiffness is given for {spec.id}; a usual one is assumed where it matters",
            'add stiffness = "60 kN/mm" once it is measured',
            path,
        )
    if spec.rated is None:
        report.advise(
            "no-rating",
            subject,
            f"no rating is given for {spec.id}, so only screw and plate limit its torque",
            'add rated = { torque = "15 N*m", force = "9 kN" } from the data sheet of the clamp',
            path,
        )


def _cap(
    design: Design, clamp: Clamp, spec: Spec, stores: Stores, report: Report, path: Path
) -> None:
    cap = torque_cap(design, spec, stores)
    if cap is None or clamp.torque_nm <= cap.torque_nm * (1 + 1e-9):
        return
    most = _in_unit_of(clamp.torque, cap.torque_nm)
    report.stop(
        "torque-above-cap",
        f"clamp {clamp.id}",
        f"{clamp.torque.text} is above what {cap.what} takes, estimated {most}",
        f"give at most {most}, or change the spec",
        path,
    )


def _in_unit_of(torque: Quantity, value_nm: float) -> str:
    unit = torque.unit if torque.unit in {"lbf*in", "lbf*ft"} else "N*m"
    return f"{to_unit(value_nm, unit):.3g} {unit}"


def _finish(clamp: Clamp, report: Report, path: Path) -> None:
    if clamp.finish_torque is None or clamp.finish_torque.value <= clamp.torque_nm * (1 + 1e-9):
        return
    report.stop(
        "finish-above-torque",
        f"clamp {clamp.id}",
        f"the finishing torque {clamp.finish_torque.text} is above the torque {clamp.torque.text}",
        "finishing is the lighter stage; give it at most the full torque, or exchange the two",
        path,
    )


def _plausible(clamp: Clamp, spec: Spec, report: Report, path: Path) -> None:
    thread = thread_of_spec(spec)
    if thread is None or is_plausible(clamp.torque_nm, thread):
        return
    low, high = band_nm(thread)
    slips = probable_slips(clamp.torque, thread)[:3]
    in_nm = "" if clamp.torque.unit == "N*m" else f" is {clamp.torque_nm:.3g} N*m,"
    message = (
        f"{clamp.torque.text}{in_nm or ' is'} outside the usual {low:.3g} to {high:.3g} N*m "
        f"for {thread.name}"
    )
    if clamp.torque.confirmed:
        report.advise(
            "torque-unusual",
            f"clamp {clamp.id}",
            message,
            "check that screw and torque belong together",
            path,
        )
        return
    fix = 'correct it, or confirm it by giving it in two units, ["... N*m", "... lbf*in"]'
    if slips:
        message += f"; probably a slip of unit, {' or '.join(slip.factor for slip in slips)}"
        meant = " or ".join(f"{slip.meant} ({slip.meant_nm:.3g} N*m)" for slip in slips)
        fix = f"write {meant} if that is meant; otherwise {fix}"
    report.stop("unit-slip" if slips else "torque-unusual", f"clamp {clamp.id}", message, fix, path)


def _engagement(design: Design, clamp: Clamp, spec: Spec, report: Report, path: Path) -> None:
    thread = thread_of_spec(spec)
    if thread is None or spec.engagement is None:
        return
    left_mm = design.plate.thickness_mm - pocket_depth_mm(design, clamp)
    if spec.engagement.mm > left_mm:
        report.stop(
            "engagement-too-long",
            f"clamp {clamp.id}",
            f"{spec.engagement.text} of thread do not fit into the {left_mm:.3g} mm of plate there",
            f"give an engagement up to {left_mm:.3g} mm or move the clamp off the pocket",
            (*path, "spec"),
        )
    full = full_threads(thread, spec.engagement.value)
    if full < LEAST_FULL_THREADS:
        needed = least_engagement_m(thread) * 1e3
        report.stop(
            "engagement-too-short",
            f"clamp {clamp.id}",
            f"{spec.engagement.text} leave {full:.1f} full threads of {thread.name}; at least 3 are needed",
            f"give an engagement of at least {needed:.3g} mm, better twice the screw's diameter in aluminium",
            (*path, "spec"),
        )


def _measured_range(clamp: Clamp, spec: Spec, report: Report, path: Path) -> None:
    if spec.force is None:
        return
    low, high = spec.force[0][0], spec.force[-1][0]
    if not low.value <= clamp.torque_nm <= high.value:
        report.advise(
            "outside-measured",
            f"clamp {clamp.id}",
            f"{clamp.torque.text} lies outside the measured range of {spec.id}, {low.text} to {high.text}",
            "measure the force at this torque, or give a torque within the range",
            path,
        )
