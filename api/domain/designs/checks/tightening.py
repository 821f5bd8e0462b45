"""Passes, torque tools for all of them, and the mass of the loaded plate."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

from api.domain.designs.document import Design, Spec
from api.domain.designs.findings import Report
from api.domain.designs.mass import LIFTING_LIMIT_KG, loaded_mass_kg
from api.domain.stores import Stores, TorqueTool
from api.domain.torque_setting import range_refusals, usable_range
from api.domain.units import to_si


def check(design: Design, specs: dict[str, Spec], stores: Stores, report: Report) -> None:
    del specs
    passes_rise = _passes(design, report)
    if passes_rise:
        _tools(design, stores, report)
    _mass(design, stores, report)


def _passes(design: Design, report: Report) -> bool:
    passes = design.tightening.passes
    rising = all(early <= late for early, late in pairwise(passes))
    if rising and passes[-1] == 1.0:
        return True
    mended = [*sorted(share for share in passes if share < 1), 1.0]
    what = "do not end at 1.0" if rising else "fall from one pass to the next"
    report.stop(
        "passes",
        "tightening",
        f"the passes {passes} {what}",
        f"write passes = {mended}; each is a share of the full torque",
        ("tightening", "passes"),
    )
    return False


def targets_nm(design: Design) -> list[float]:
    """Every torque somebody will have to set: each clamp's passes, and its finishing torque."""
    shares = design.tightening.passes
    found = [clamp.torque_nm * share for clamp in design.clamps for share in shares]
    return found + [c.finish_torque_nm for c in design.clamps if c.finish_torque_nm is not None]


def _tools(design: Design, stores: Stores, report: Report) -> None:
    tools = [tool for tool in stores.tools.values() if tool.state == "in use"]
    if not tools:
        report.advise(
            "nothing-to-check-against",
            "stores",
            "no torque tool is registered, so it is not known whether one covers the torques",
            "enter the torque tools in the stores and check again",
        )
        return
    targets = targets_nm(design)
    if any(not range_refusals(tool, targets) for tool in tools):
        return
    missed = False
    for index, clamp in enumerate(design.clamps):
        own = [clamp.torque_nm * share for share in design.tightening.passes]
        if any(not range_refusals(tool, own) for tool in tools):
            continue
        missed = True
        report.stop(
            "no-tool",
            f"clamp {clamp.id}",
            f"no torque tool in use covers all passes of {clamp.id}, {min(own):.3g} to {max(own):.3g} N*m; "
            f"in use: {_ranges(tools)}",
            "change the torque or the lowest pass, or register a tool with that range",
            ("clamp", index, "torque"),
        )
    if not missed:
        report.stop(
            "no-tool",
            "tightening",
            f"no single torque tool covers all torques, {min(targets):.3g} to {max(targets):.3g} N*m; "
            f"in use: {_ranges(tools)}",
            "bring the torques closer together, raise the lowest pass, or register a tool with that range",
            ("tightening", "passes"),
        )


def _ranges(tools: Iterable[TorqueTool]) -> str:
    """Usable ranges in N·m, so that tools of different units can be compared."""
    shown = []
    for tool in tools:
        low, high = (to_si(end, tool.unit) for end in usable_range(tool))
        shown.append(f"{tool.serial} {low:.3g} to {high:.3g} N*m")
    return ", ".join(shown[:6])


def _mass(design: Design, stores: Stores, report: Report) -> None:
    mass = loaded_mass_kg(design, stores)
    if mass is not None and mass > LIFTING_LIMIT_KG:
        report.advise(
            "heavy",
            "plate",
            f"the loaded plate has about {mass:.1f} kg without clamps and screws, above the lifting limit of "
            f"{LIFTING_LIMIT_KG:g} kg; a step for the hoist is added",
            "plan lifting gear, or make the plate lighter",
            ("plate", "size"),
        )
