"""The order of tightening drawn over the plan: a path from clamp to clamp with numbered flags."""

from __future__ import annotations

import math
from collections.abc import Iterator
from html import escape
from itertools import pairwise

from api.domain.analyses.result import Result
from api.domain.designs import Design
from api.domain.designs.drawing.marks import balloons, names, points
from api.domain.designs.drawing.svg import Sheet, fmt
from api.pictures.maps import balloon_radius
from api.pictures.words import counted

Place = tuple[float, float]


def order_on_plan(design: Design, result: Result, plan_svg: str) -> str:
    """`plan_svg` is the base drawing of the plate; it comes back with the path over it."""
    opening, _, rest = plan_svg.partition(">")
    body = rest.rpartition("</svg>")[0]
    view = opening.partition('viewBox="')[2].partition('"')[0]
    what = "Order of tightening" if result.order else "Plan"
    title = f"{what} of {design.code} revision {design.revision}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing way" role="img" viewBox="{escape(view)}">'
        f"<title>{escape(title)}</title><desc>{escape(_told(result))}</desc>{body}"
        f"{''.join(_marks(design, result))}</svg>"
    )


def _told(result: Result) -> str:
    seen = "Seen from above, bench side down."
    if not result.order:
        return seen
    passes = counted(len(result.passes), "pass", "passes")
    return f"In each of {passes}: {', '.join(result.order)}. {seen}"


def _marks(design: Design, result: Result) -> Iterator[str]:
    sheet = Sheet(design.plate.width_mm)
    unit = max(design.plate.length_mm / 450, 1.5 * design.plate.width_mm / 450)
    radius = balloon_radius(design, unit)
    places = {clamp.id: (clamp.x_mm, clamp.y_mm) for clamp in design.clamps}
    way = [places[name] for name in result.order if name in places]
    for start, end in pairwise(way):
        yield from _leg(start, end, radius, sheet)
    yield from names(design, sheet)
    yield from balloons(design, sheet, radius)
    for number, at in enumerate(way, start=1):
        yield _flag(number, at, radius, sheet)
    yield from points(design, sheet)


def _leg(start: Place, end: Place, radius: float, sheet: Sheet) -> Iterator[str]:
    """A straight line between two balloons, with its arrow at the far end."""
    length = math.dist(start, end)
    if length <= 2 * radius:
        return
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    a = (start[0] + radius * ux, start[1] + radius * uy)
    b = (end[0] - radius * ux, end[1] - radius * uy)
    yield sheet.line("leg", a, b)
    back, wide = min(0.9 * radius, 0.5 * (length - 2 * radius)), 0.35 * radius
    foot = (b[0] - back * ux, b[1] - back * uy)
    wings = [(foot[0] - s * wide * uy, foot[1] + s * wide * ux) for s in (1, -1)]
    yield f'<path class="head" d="M{sheet.pair(b)}L{sheet.pair(wings[0])}L{sheet.pair(wings[1])}z"/>'


def _flag(number: int, at: Place, radius: float, sheet: Sheet) -> str:
    """A filled square at the balloon's upper right with the place in the order."""
    words, height = str(number), 1.05 * radius
    width = max(height, 0.62 * height * len(words))
    x, y = at[0] + 0.55 * radius, at[1] + 0.5 * radius
    return (
        f'<g class="flag"><rect x="{fmt(x)}" y="{fmt(sheet.width_mm - y - height)}" '
        f'width="{fmt(width)}" height="{fmt(height)}"/>'
        + sheet.text("turn", (x + width / 2, y + height / 2), words, 0.85 * height)
        + "</g>"
    )
