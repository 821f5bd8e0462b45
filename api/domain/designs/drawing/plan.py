"""The plate's plan as SVG, in the habits of a shop drawing (ISO 128, ISO 129).

One user unit is one millimetre; x runs to the right and the bench side is at the bottom, so that
svg y = plate width - y. Elements carry classes and no style; a style sheet gives them their look:

    plate  pocket  stud  centre  stop  hatch  hidden  part  body  screw  axis  dim  arrow
    and in the plan also  balloon  point  name  tag

`draw` is the base under the tablet's own marks and has no text but the overall dimensions.
`plan` adds balloons, points and names for the office and for print.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from html import escape

from api.domain.designs import geometry as g
from api.domain.designs.document import Design, Station, Stop
from api.domain.designs.drawing.marks import balloons, names, points
from api.domain.designs.drawing.svg import Sheet, fmt
from api.domain.designs.layout import Body, Layout, layout_of, screw_diameter_mm
from api.domain.designs.specs import specs_of
from api.domain.stores import Stores

MARGIN_MM = 14.0
OVERRUN_MM = 3.5
DIMENSION_MM = 10.5
SIDE_DIMENSION_MM = 6.5


def draw(design: Design, stores: Stores | None = None) -> str:
    """The base drawing: plate, receivers, stops, parts, clamps and overall dimensions."""
    return _wrap(design, "".join(_base(design, stores or Stores())))


def plan(design: Design, stores: Stores | None = None, *, with_balloons: bool = True) -> str:
    """The drawing with points and names, and numbered balloons at the clamps."""
    sheet = Sheet(design.plate.width_mm)
    content = [*_base(design, stores or Stores()), *names(design, sheet)]
    if with_balloons:
        content += balloons(design, sheet)
    return _wrap(design, "".join([*content, *points(design, sheet)]))


def _wrap(design: Design, content: str) -> str:
    length, width = design.plate.length_mm + 2 * MARGIN_MM, design.plate.width_mm + 2 * MARGIN_MM
    label = f"Plate {design.code} revision {design.revision}, seen from above, bench side down"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing" role="img" aria-label="{escape(label)}" '
        f'viewBox="{fmt(-MARGIN_MM)} {fmt(-MARGIN_MM)} {fmt(length)} {fmt(width)}">{content}</svg>'
    )


def _base(design: Design, stores: Stores) -> Iterator[str]:
    specs = specs_of(design, stores)
    layout, sheet = layout_of(design, specs), Sheet(design.plate.width_mm)
    yield sheet.outline("plate", layout.plate, corner_mm=2)
    yield from _pockets(design, sheet)
    yield from _centre_lines(design, sheet)
    for stop in design.stops:
        yield from stop_marks(stop, layout, sheet)
    for station in design.stations:
        yield from _part(design, station, layout, sheet)
    for clamp in design.clamps:
        diameter = screw_diameter_mm(specs.get(clamp.spec))
        body = layout.bodies[clamp.id]
        yield from _clamp(clamp.id, (clamp.x_mm, clamp.y_mm), body, clamp.axis_deg, diameter, sheet)
    yield from receiver_marks(design, sheet)
    yield from _dimensions(design)


def _pockets(design: Design, sheet: Sheet) -> Iterator[str]:
    for pocket in design.plate.pockets:
        (x, y), (length, width) = pocket.corner, pocket.size
        corner = min(6.0, length.mm / 4, width.mm / 4)
        yield sheet.outline(
            "pocket", g.rectangle(x.mm, y.mm, length.mm, width.mm), corner_mm=corner
        )


def receiver_marks(design: Design, sheet: Sheet) -> Iterator[str]:
    """Below the plate, so dashed: the pad's outside and its bore, with a centre mark."""
    pad = design.receivers.pad
    for name, x, y in design.receivers.numbered:
        reach = pad.diameter.mm / 2 + 3
        yield (
            f'<g class="receiver" data-id="{name}">'
            + sheet.circle("stud", (x, y), pad.diameter.mm / 2)
            + sheet.circle("stud", (x, y), pad.bore.mm / 2)
            + sheet.line("centre", (x - reach, y), (x + reach, y))
            + sheet.line("centre", (x, y - reach), (x, y + reach))
            + "</g>"
        )


def _centre_lines(design: Design, sheet: Sheet) -> Iterator[str]:
    length, width = design.plate.length_mm, design.plate.width_mm
    yield sheet.line("centre", (-OVERRUN_MM, width / 2), (length + OVERRUN_MM, width / 2))
    yield sheet.line("centre", (length / 2, -OVERRUN_MM), (length / 2, width + OVERRUN_MM))


def stop_marks(stop: Stop, layout: Layout, sheet: Sheet) -> Iterator[str]:
    outline = layout.stops[stop.id]
    yield f'<g class="fixed" data-id="{escape(stop.id)}">'
    yield f'<g class="hatch"><path d="{_hatching(outline, sheet)}"/></g>'
    yield sheet.outline("stop", outline)
    if stop.undercut.value > 0:
        yield from _undercut(stop, layout, sheet)
    yield "</g>"


def _hatching(outline: g.Outline, sheet: Sheet) -> str:
    """Lines at 45 degrees, cut off exactly at the outline of an upright rectangle."""
    x0, y0, x1, y1 = outline.box
    length, width = x1 - x0, y1 - y0
    step = min(8.0, max(2.5, min(length, width) / 3))
    drawn = []
    for count in range(1, math.ceil((length + width) / step)):
        shift = count * step - width
        start, end = max(0.0, shift), min(length, width + shift)
        if end - start > 0.3:
            drawn.append(
                f"M{sheet.pair((x0 + start, y0 + start - shift))}L{sheet.pair((x0 + end, y0 + end - shift))}"
            )
    return "".join(drawn)


def _undercut(stop: Stop, layout: Layout, sheet: Sheet) -> Iterator[str]:
    """The hidden foot of a face that leans over a part: dashed, inside each face that has one."""
    x0, y0, x1, y1 = layout.stops[stop.id].box
    lean = min(stop.size[2].mm * math.tan(stop.undercut.value), (x1 - x0) / 3, (y1 - y0) / 3)
    lean = max(lean, 1.5)
    for side, start, end in (
        ("left", (x0 + lean, y0), (x0 + lean, y1)),
        ("right", (x1 - lean, y0), (x1 - lean, y1)),
        ("front", (x0, y0 + lean), (x1, y0 + lean)),
        ("back", (x0, y1 - lean), (x1, y1 - lean)),
    ):
        if any(_touches(layout.stops[stop.id], side, part) for part in layout.parts.values()):
            yield sheet.line("hidden", start, end)


def _touches(stop: g.Outline, side: str, part: g.Outline) -> bool:
    a, b, near = stop.box, part.box, 2.0
    beside = min(a[3], b[3]) > max(a[1], b[1])
    before = min(a[2], b[2]) > max(a[0], b[0])
    match side:
        case "left":
            return beside and abs(a[0] - b[2]) < near
        case "right":
            return beside and abs(a[2] - b[0]) < near
        case "front":
            return before and abs(a[1] - b[3]) < near
        case _:
            return before and abs(a[3] - b[1]) < near


def _part(design: Design, station: Station, layout: Layout, sheet: Sheet) -> Iterator[str]:
    outline, (x, y) = layout.parts[station.id], (station.x_mm, station.y_mm)
    yield f'<g class="station" data-id="{escape(station.id)}">'
    yield sheet.outline("part", outline, corner_mm=1)
    x0, y0, x1, y1 = outline.box
    sizes = design.part.size
    axis = g.bar_axis((sizes[0].mm, sizes[1].mm, sizes[2].mm)) if station.shape == "round" else None
    if axis in {"x", "z"}:
        yield sheet.line("centre", (x0 - 3, y), (x1 + 3, y))
    if axis in {"y", "z"}:
        yield sheet.line("centre", (x, y0 - 3), (x, y1 + 3))
    yield "</g>"


def _clamp(
    name: str, at: g.Point, body: Body, axis_deg: float, diameter_mm: float, sheet: Sheet
) -> Iterator[str]:
    """Body with its axis, the screw's head and the hexagon of its key."""
    ux, uy = g.direction(axis_deg)
    back, front = (_extent(body.outline, at, (ux, uy), sign) for sign in (-1, 1))
    yield f'<g class="clamp" data-id="{escape(name)}">'
    yield sheet.outline("body", body.outline)
    yield sheet.line(
        "axis",
        (at[0] - (back + 3) * ux, at[1] - (back + 3) * uy),
        (at[0] + (front + 3) * ux, at[1] + (front + 3) * uy),
    )
    yield sheet.circle("screw", at, 0.8 * diameter_mm)
    yield sheet.outline("screw", g.hexagon(at, 0.8 * diameter_mm))
    yield "</g>"


def _extent(outline: g.Outline, at: g.Point, along: g.Point, sign: int) -> float:
    return max(sign * g.along_line(corner, at, along) for corner in outline.corners)


def _dimensions(design: Design) -> Iterator[str]:
    """Overall length below and overall width at the left, each between its two ends."""
    length, width = design.plate.length_mm, design.plate.width_mm
    y, x = fmt(width + DIMENSION_MM), fmt(-SIDE_DIMENSION_MM)
    yield (
        f'<g class="dim"><path d="M0 {fmt(width + 2)}V{fmt(width + 12)}M{fmt(length)} {fmt(width + 2)}'
        f'V{fmt(width + 12)}M0 {y}H{fmt(length)}"/>'
        f'<path class="arrow" d="M0 {y}l6 -1v2zM{fmt(length)} {y}l-6 -1v2z"/>'
        f'<text x="{fmt(length / 2)}" y="{fmt(width + DIMENSION_MM - 1.6)}" font-size="6.5" '
        f'text-anchor="middle">{fmt(length)}</text></g>'
    )
    yield (
        f'<g class="dim"><path d="M-2 0H-8M-2 {fmt(width)}H-8M{x} 0V{fmt(width)}"/>'
        f'<path class="arrow" d="M{x} 0l-1 6h2zM{x} {fmt(width)}l-1 -6h2z"/>'
        f'<text transform="translate({fmt(-SIDE_DIMENSION_MM - 1.6)} {fmt(width / 2)}) rotate(-90)" '
        f'font-size="6.5" text-anchor="middle">{fmt(width)}</text></g>'
    )
