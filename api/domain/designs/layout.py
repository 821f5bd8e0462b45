"""A design's outlines on the plate, and the bodies of its clamps.

A design file does not give a clamp's body. It is taken as reaching along its axis to the faces it
presses, and as `BODY_WIDTHS` contact radii wide across it; where no contact radius is given, a
multiple of the screw's diameter, or of 8 mm, stands in for it.
"""

from __future__ import annotations

from dataclasses import dataclass

from api.domain.designs import geometry as g
from api.domain.designs.document import Clamp, Design, Spec, Station, Stop
from api.domain.threads import thread_of

BODY_WIDTHS = 5.0
RADIUS_PER_DIAMETER = 0.7
REACH_PER_DIAMETER = 6.0
USUAL_DIAMETER_MM = 8.0


@dataclass(frozen=True)
class Body:
    """A clamp's outline; `front` and `back` are the distances to the faces it presses, if any."""

    outline: g.Outline
    front: float | None
    back: float | None


@dataclass(frozen=True)
class Layout:
    """Outlines by id, in millimetres."""

    plate: g.Outline
    parts: dict[str, g.Outline]
    stops: dict[str, g.Outline]
    bodies: dict[str, Body]
    pads: dict[str, g.Outline]


def part_outline(design: Design, station: Station) -> g.Outline:
    length, width, height = (size.mm for size in design.part.size)
    centre = (station.x_mm, station.y_mm)
    if station.shape == "round" and g.bar_axis((length, width, height)) == "z":
        return g.circle(centre, length / 2)
    return g.around(centre, length, width)


def stop_outline(stop: Stop) -> g.Outline:
    return g.rectangle(stop.corner[0].mm, stop.corner[1].mm, stop.size[0].mm, stop.size[1].mm)


def contact_radius_mm(spec: Spec | None) -> float:
    if spec is not None and spec.contact_radius is not None:
        return spec.contact_radius.mm
    return RADIUS_PER_DIAMETER * screw_diameter_mm(spec)


def screw_diameter_mm(spec: Spec | None) -> float:
    thread = thread_of(spec.thread) if spec is not None and spec.thread else None
    return USUAL_DIAMETER_MM if thread is None else round(thread.d_m * 1e3, 9)


def reach_mm(spec: Spec | None) -> float:
    """How far from its axis a clamp's jaw can be expected to reach."""
    return REACH_PER_DIAMETER * screw_diameter_mm(spec)


def layout_of(design: Design, specs: dict[str, Spec]) -> Layout:
    """`specs` by id, those of the stores included; a missing one gets usual sizes."""
    parts = {station.id: part_outline(design, station) for station in design.stations}
    stops = {stop.id: stop_outline(stop) for stop in design.stops}
    faces = [*parts.values(), *stops.values()]
    pad_radius = design.receivers.pad.diameter.mm / 2
    return Layout(
        plate=g.rectangle(0, 0, design.plate.length_mm, design.plate.width_mm),
        parts=parts,
        stops=stops,
        bodies={clamp.id: _body(clamp, specs.get(clamp.spec), faces) for clamp in design.clamps},
        pads={name: g.circle((x, y), pad_radius) for name, x, y in design.receivers.numbered},
    )


def _body(clamp: Clamp, spec: Spec | None, faces: list[g.Outline]) -> Body:
    centre, along = (clamp.x_mm, clamp.y_mm), g.direction(clamp.axis_deg)
    half = BODY_WIDTHS / 2 * contact_radius_mm(spec)
    front, back = None, None
    for face in faces:
        hits = g.ray_hits(centre, along, face)
        if hits is None:
            continue
        if 0 < hits[0] <= reach_mm(spec):
            front = min(hits[0], front or hits[0])
        if 0 < -hits[1] <= reach_mm(spec):
            back = min(-hits[1], back or -hits[1])
    outline = g.turned_box(
        centre,
        clamp.axis_deg,
        half if back is None else back,
        half if front is None else front,
        2 * half,
    )
    return Body(outline, front, back)
