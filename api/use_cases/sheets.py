"""The sheet of a revision: what a tablet needs of a design, frozen when the revision is released."""

from __future__ import annotations

import math
from typing import Any

from api.domain.designs.document import Clamp, Design, Spec
from api.domain.designs.drawing import draw_sheet
from api.domain.designs.mass import loaded_mass_kg, needs_hoist
from api.domain.designs.specs import specs_of
from api.domain.steps import Layout, Point, plan_of
from api.domain.stores import Stores


def sheet_of(design: Design, design_hash: str, stores: Stores) -> dict[str, Any]:
    """The sheet in its JSON form."""
    specs = specs_of(design, stores)
    mass_kg = loaded_mass_kg(design, stores)
    return {
        "design": design.code,
        "revision": design.revision,
        "hash": design_hash,
        "title": design.title,
        "plate": {
            "length_mm": design.plate.length_mm,
            "width_mm": design.plate.width_mm,
            "thickness_mm": design.plate.thickness_mm,
        },
        "drawing": draw_sheet(design, stores),
        "clamps": [_clamp(design, clamp, specs.get(clamp.spec)) for clamp in design.clamps],
        "stations": [_spot(one.id, one.x_mm, one.y_mm) for one in design.stations],
        "stops": [_spot(one.id, one.x_mm, one.y_mm) for one in design.stops],
        "receivers": [_spot(*one) for one in design.receivers.numbered],
        "points": [
            _spot(one.id, one.x_mm, one.y_mm)
            | {"zero": one.zero, "read": one.read, "low_mm": one.low_mm, "high_mm": one.high_mm}
            for one in design.points
        ],
        "passes": [float(share) for share in design.tightening.passes],
        "order": tightening_order(design),
        "care": design.care.model_dump(mode="json"),
        "mass_kg": None if mass_kg is None else round(mass_kg, 1),
        "lift": needs_hoist(design, stores),
        "steps": [step.to_json() for step in plan_of(layout_of(design, stores))],
    }


def layout_of(design: Design, stores: Stores) -> Layout:
    """What the plan of steps depends on."""
    eased = {one.id: one.finish_torque_nm for one in design.clamps}
    return Layout(
        torques_nm={one.id: round(one.torque_nm, 6) for one in design.clamps},
        order=tuple(tightening_order(design)),
        stations=tuple(one.id for one in design.stations),
        stops=tuple(one.id for one in design.stops),
        receivers=tuple(name for name, _, _ in design.receivers.numbered),
        points=tuple(
            Point(one.id, one.zero, one.read, (one.low_mm, one.high_mm)) for one in design.points
        ),
        passes=tuple(float(share) for share in design.tightening.passes),
        tighten_locked=design.tightening.plate == "locked",
        recheck=design.tightening.recheck,
        lift=needs_hoist(design, stores),
        finish_nm={key: round(value, 6) for key, value in eased.items() if value is not None},
    )


def tightening_order(design: Design) -> list[str]:
    """The order the design gives; else from the middle of the plate outwards."""
    if design.tightening.order:
        return list(design.tightening.order)
    x_mm, y_mm = design.plate.length_mm / 2, design.plate.width_mm / 2

    def outwards(clamp: Clamp) -> tuple[float, float, float]:
        off = math.hypot(clamp.x_mm - x_mm, clamp.y_mm - y_mm)
        return (round(off, 1), clamp.y_mm, clamp.x_mm)

    return [one.id for one in sorted(design.clamps, key=outwards)]


def _clamp(design: Design, clamp: Clamp, spec: Spec | None) -> dict[str, Any]:
    return _spot(clamp.id, clamp.x_mm, clamp.y_mm) | {
        "axis_deg": clamp.axis_deg,
        "spec": clamp.spec,
        "grease": (spec.lubricant if spec else None) or "",
        "torque_nm": round(clamp.torque_nm, 6),
        "place": {
            "row": _third(clamp.y_mm, design.plate.width_mm, ("front", "middle", "back")),
            "column": _third(clamp.x_mm, design.plate.length_mm, ("left", "middle", "right")),
        },
    }


def _spot(name: str, x_mm: float, y_mm: float) -> dict[str, Any]:
    return {"id": name, "x_mm": round(x_mm, 4), "y_mm": round(y_mm, 4)}


def _third(at_mm: float, size_mm: float, names: tuple[str, str, str]) -> str:
    return names[min(2, max(0, int(3 * at_mm / size_mm)))]
