"""Indicator points: states that occur, in order, and an indicator fine enough for the limit."""

from __future__ import annotations

from api.domain.designs import geometry as g
from api.domain.designs.document import Design, Point
from api.domain.designs.findings import Path, Report
from api.domain.designs.layout import Layout
from api.domain.indicator_choice import ADVISED_RATIO, LEAST_RATIO, PLAY, STEEPEST_STYLUS_DEG, ratio
from api.domain.steps import visited
from api.domain.stores import Indicator, Stores


def check(design: Design, layout: Layout, stores: Stores, report: Report) -> None:
    for index, point in enumerate(design.points):
        path: Path = ("point", index)
        _states(design, point, report, path)
        _clear(point, layout, report, (*path, "at"))
    if design.points:
        _indicators(design, stores, report)


def _states(design: Design, point: Point, report: Report, path: Path) -> None:
    locked = design.tightening.plate == "locked"
    order = ("empty locked", *visited(tighten_locked=locked))
    subject = f"point {point.id}"
    for field, state in (("zero", point.zero), ("read", point.read)):
        if state not in order:
            report.stop(
                "state-never-reached",
                subject,
                f"the plate is never '{state}' when it is tightened {design.tightening.plate}",
                f"choose one of {', '.join(order)}, or change tightening.plate",
                (*path, field),
            )
            return
    later = order[order.index(point.zero) + 1 :]
    if order.index(point.zero) >= order.index(point.read):
        report.stop(
            "read-before-zero",
            subject,
            f"{point.id} is read in '{point.read}', which does not come after its zero in '{point.zero}'",
            f"read it in one of {', '.join(later) or 'no state'}, or zero it earlier",
            (*path, "read"),
        )


def _clear(point: Point, layout: Layout, report: Report, path: Path) -> None:
    """An indicator reads the plate; under a stop, a part or a clamp it cannot."""
    bodies = {name: body.outline for name, body in layout.bodies.items()}
    for noun, outlines in (
        ("the part at", layout.parts),
        ("stop", layout.stops),
        ("clamp", bodies),
    ):
        for name, outline in outlines.items():
            if g.holds(outline, (point.x_mm, point.y_mm)):
                report.advise(
                    "point-covered",
                    f"point {point.id}",
                    f"point {point.id} lies on {noun} {name}, so the plate itself is not read",
                    "move the point to a free place on the plate, unless that face is meant",
                    path,
                )
                return


def _indicators(design: Design, stores: Stores, report: Report) -> None:
    usable = [
        indicator
        for indicator in stores.indicators.values()
        if indicator.state == "in use" and indicator.stylus_deg <= STEEPEST_STYLUS_DEG
    ]
    if not usable:
        report.advise(
            "nothing-to-check-against",
            "stores",
            "no indicator is registered, so it is not known whether one can judge the limits",
            "enter the indicators in the stores and check again",
        )
        return
    for index, point in enumerate(design.points):
        _fine_enough(point, usable, report, ("point", index, "limit"))


def _fine_enough(point: Point, usable: list[Indicator], report: Report, path: Path) -> None:
    width = point.limit.width_mm
    best = max(usable, key=lambda indicator: ratio(width, indicator))
    reached = ratio(width, best)
    said = (
        f"the limit of {width:.4g} mm at {point.id} is {reached:.1f} graduations of {best.serial}, "
        "the finest indicator in use"
    )
    if reached < LEAST_RATIO - PLAY:
        report.stop(
            "indicator-too-coarse",
            f"point {point.id}",
            f"{said}; at least {LEAST_RATIO:g} are needed to judge it",
            f"widen the limit or register an indicator of {width / ADVISED_RATIO:.2g} mm or finer",
            path,
        )
    elif reached < ADVISED_RATIO - PLAY:
        report.advise(
            "indicator-coarse",
            f"point {point.id}",
            f"{said}; {ADVISED_RATIO:g} are advised",
            f"use an indicator of {width / ADVISED_RATIO:.2g} mm or finer where there is one",
            path,
        )
