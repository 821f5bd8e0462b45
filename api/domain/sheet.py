"""The sheet: all a tablet needs of a released revision, as one JSON value."""

from __future__ import annotations

from typing import Any

from api.domain.analyses.guide import Analysis
from api.domain.analyses.result import Result
from api.domain.designs.document import Clamp, Design, Spec
from api.domain.designs.drawing import draw
from api.domain.designs.hashing import document_hash
from api.domain.designs.mass import loaded_mass_kg, needs_hoist
from api.domain.designs.order import column_of, row_of, tightening_order
from api.domain.designs.specs import specs_of
from api.domain.steps import Layout, Point, plan_of
from api.domain.stores import Stores


def sheet_of(design: Design, stores: Stores, analysis: Analysis | None = None) -> dict[str, Any]:
    """Lengths in mm, torques in N·m; `mass_kg` is null where a material is not in the stores.

    Order, passes, expected readings and the guide are those of the analysis; without one the file's
    own order and passes stand, and `guide` and `analysis` are null.
    """
    specs = specs_of(design, stores)
    mass = loaded_mass_kg(design, stores)
    layout = plan_layout(design, lift=needs_hoist(design, stores), analysis=analysis)
    return {
        "design": design.code,
        "revision": design.revision,
        "hash": document_hash(design.document),
        "title": design.title,
        "plate": {
            "length_mm": design.plate.length_mm,
            "width_mm": design.plate.width_mm,
            "thickness_mm": design.plate.thickness_mm,
        },
        "drawing": draw(design, stores),
        "clamps": [_clamp(design, clamp, specs) for clamp in design.clamps],
        "stations": [_at(station.id, station.x_mm, station.y_mm) for station in design.stations],
        "stops": [_at(stop.id, stop.x_mm, stop.y_mm) for stop in design.stops],
        "receivers": [_at(*receiver) for receiver in design.receivers.numbered],
        "points": [
            _at(point.id, point.x_mm, point.y_mm)
            | {
                "zero": point.zero,
                "read": point.read,
                "low_mm": point.low_mm,
                "high_mm": point.high_mm,
            }
            for point in design.points
        ],
        "passes": list(layout.passes),
        "order": list(layout.order),
        "care": design.care.model_dump(),
        "countersign": design.sign_off.countersign,
        "mass_kg": None if mass is None else round(mass, 1),
        "lift": layout.lift,
        "steps": [step.to_json() for step in plan_of(layout)],
        "guide": analysis.guide.model_dump(mode="json") if analysis and analysis.guide else None,
        "analysis": analysis and {"inputs": analysis.inputs, "method": analysis.method},
    }


def plan_layout(design: Design, *, lift: bool, analysis: Analysis | None = None) -> Layout:
    """What the step plan depends on."""
    result = analysis.result if analysis else None
    return Layout(
        torques_nm={clamp.id: round(clamp.torque_nm, 6) for clamp in design.clamps},
        order=tuple((result and result.order) or tightening_order(design)),
        stations=tuple(station.id for station in design.stations),
        stops=tuple(stop.id for stop in design.stops),
        receivers=tuple(name for name, _, _ in design.receivers.numbered),
        points=tuple(
            Point(p.id, p.zero, p.read, (p.low_mm, p.high_mm), _expected_mm(result, p.id))
            for p in design.points
        ),
        passes=tuple((result and result.passes) or design.tightening.passes),
        tighten_locked=design.tightening.plate == "locked",
        recheck=design.tightening.recheck,
        lift=lift,
        finish_nm={
            clamp.id: round(clamp.finish_torque_nm, 6)
            for clamp in design.clamps
            if clamp.finish_torque_nm is not None
        },
    )


def _expected_mm(result: Result | None, point: str) -> tuple[float, float, float] | None:
    found = result.points.get(point) if result else None
    if found is None:
        return None
    band = found.reading_um
    return (round(band.low / 1e3, 6), round(band.usual / 1e3, 6), round(band.high / 1e3, 6))


def _clamp(design: Design, clamp: Clamp, specs: dict[str, Spec]) -> dict[str, Any]:
    return _at(clamp.id, clamp.x_mm, clamp.y_mm) | {
        "axis_deg": clamp.axis_deg,
        "spec": clamp.spec,
        "grease": specs[clamp.spec].lubricant,
        "torque_nm": round(clamp.torque_nm, 6),
        "place": {"row": row_of(design, clamp), "column": column_of(design, clamp)},
    }


def _at(name: str, x_mm: float, y_mm: float) -> dict[str, Any]:
    return {"id": name, "x_mm": x_mm, "y_mm": y_mm}
