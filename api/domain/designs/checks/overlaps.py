"""Parts, stops and clamps may touch; they do not lie inside each other."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from api.domain.designs import geometry as g
from api.domain.designs.document import Design, Spec
from api.domain.designs.findings import Path, Report
from api.domain.designs.layout import Layout, contact_radius_mm

BODY_PLAY_MM = 0.5


@dataclass(frozen=True)
class _Thing:
    noun: str
    id: str
    outline: g.Outline
    path: Path

    @property
    def name(self) -> str:
        return f"the part at {self.id}" if self.noun == "station" else f"{self.noun} {self.id}"


def check(design: Design, specs: dict[str, Spec], layout: Layout, report: Report) -> None:
    parts = [
        _Thing("station", item.id, layout.parts[item.id], ("station", i, "at"))
        for i, item in enumerate(design.stations)
    ]
    stops = [
        _Thing("stop", item.id, layout.stops[item.id], ("stop", i, "corner"))
        for i, item in enumerate(design.stops)
    ]
    clamps = list(_clamps(design, specs))
    bodies = [_Thing("clamp", c.id, layout.bodies[c.id].outline, c.path) for c in clamps]
    lean = _lean_mm(design)
    for first, second in (*_pairs(parts), *_pairs(stops)):
        _report_overlap(first, second, g.TOUCH_MM, report)
    for part in parts:
        for stop in stops:
            _report_overlap(part, stop, g.TOUCH_MM + lean[stop.id], report)
    for clamp in clamps:
        for thing in (*parts, *stops):
            _report_overlap(clamp, thing, g.TOUCH_MM, report)
    for first, second in _pairs(bodies):
        _report_overlap(first, second, BODY_PLAY_MM, report)
    _bodies_against_neighbours(bodies, [*parts, *stops], design, report)


def _clamps(design: Design, specs: dict[str, Spec]) -> Iterator[_Thing]:
    """Each clamp as the circle at which its screw or wedge presses, the least it needs."""
    for index, clamp in enumerate(design.clamps):
        radius = contact_radius_mm(specs.get(clamp.spec))
        yield _Thing(
            "clamp", clamp.id, g.circle((clamp.x_mm, clamp.y_mm), radius), ("clamp", index, "at")
        )


def _lean_mm(design: Design) -> dict[str, float]:
    """How far an undercut face may reach over a part seen from above."""
    height = design.part.size[2].mm
    return {stop.id: height * math.tan(stop.undercut.value) for stop in design.stops}


def _pairs(things: list[_Thing]) -> Iterator[tuple[_Thing, _Thing]]:
    for index, first in enumerate(things):
        for second in things[index + 1 :]:
            yield first, second


def _report_overlap(first: _Thing, second: _Thing, allowed_mm: float, report: Report) -> None:
    depth = g.overlap_mm(first.outline, second.outline)
    if depth > allowed_mm:
        report.stop(
            "overlap",
            f"{first.noun} {first.id}",
            f"{first.name} reaches {depth:.2g} mm into {second.name}",
            f"move one of them by {depth:.2g} mm",
            first.path,
        )


def _bodies_against_neighbours(
    bodies: list[_Thing], others: list[_Thing], design: Design, report: Report
) -> None:
    """A body ends at the faces it presses; anything beside it that it cuts is in its way."""
    lean = _lean_mm(design)
    for body in bodies:
        for other in others:
            allowed = (
                BODY_PLAY_MM + lean.get(other.id, 0.0) if other.noun == "stop" else BODY_PLAY_MM
            )
            if g.overlap_mm(body.outline, other.outline) > allowed:
                report.advise(
                    "clamp-crowded",
                    f"clamp {body.id}",
                    f"the body of clamp {body.id}, about {_width(body):.3g} mm wide, "
                    f"may not clear {other.name}",
                    "leave more room beside the clamp, or check the room on the drawing of the clamp",
                    body.path,
                )


def _width(body: _Thing) -> float:
    (ax, ay), (bx, by) = body.outline.corners[1], body.outline.corners[2]
    return math.hypot(bx - ax, by - ay)
