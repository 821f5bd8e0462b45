"""Maps of the plate's bow, to scale: one user unit is one millimetre, the bench side is down.

Ground colours follow one scale over all maps of a result, so that maps can be compared; lines follow
each map's own round step, so that a small bow shows as well. Elements carry classes and no style:

    crown-1 .. crown-12  dish-1 .. dish-12  zero  above  below  level  key
    and those of the plan: plate  stop  hatch  stud  centre  balloon  point
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from html import escape

import numpy as np

from api.domain.analyses.result import Map, PointResult, Result
from api.domain.designs import Design
from api.domain.designs.document import State
from api.domain.designs.drawing.marks import BALLOON_MM, balloons
from api.domain.designs.drawing.plan import receiver_marks, stop_marks
from api.domain.designs.drawing.svg import Sheet, fmt
from api.domain.designs.layout import layout_of
from api.pictures.contours import Heights, bands, finer, labels, lines
from api.pictures.point_labels import Obstacle, PointLabel, point_marks
from api.pictures.steps import FLAT_UM, line_step, round_step
from api.pictures.words import limits_um, um

LARGE, SMALL = 1.0, 1.75
COLOURS = 12
MOST_LINES = 12
MARGIN_MM = 6.0
USUAL_VIEW_MM = 462.0
PLANE = "the unloaded plane of the receivers"


@dataclass(frozen=True)
class Picture:
    """An SVG text with what stands under it."""

    svg: str
    title: str
    caption: str


def states_of(result: Result) -> list[State]:
    return [] if result.map is None else [*result.map.w_um]


def changes_of(design: Design) -> list[tuple[State, State]]:
    """The differences of two states that some point's indicator sees, each once."""
    return list(dict.fromkeys((point.zero, point.read) for point in design.points))


def bow_map(design: Design, result: Result, state: State, size: float = LARGE) -> Picture:
    """Heights in one state above the unloaded plane of the receivers; ValueError without a map."""
    heights = _heights(_map_of(result), state)
    shown = {name: um(point.state_um.get(state)) for name, point in result.points.items()}
    marks = [
        PointLabel(point.id, point.x_mm, point.y_mm, (f"{point.id} {shown[point.id]} µm",))
        for point in design.points
        if point.id in shown
    ]
    return _picture(design, result, heights, marks, size, state.capitalize(), f"above {PLANE}")


def change_map(
    design: Design, result: Result, zero: State, read: State, size: float = LARGE
) -> Picture:
    """What an indicator that is zeroed in one state sees in another, with points and limits."""
    table = _map_of(result)
    after, before = _heights(table, read), _heights(table, zero)
    heights = Heights(after.x_mm, after.y_mm, after.w_um - before.w_um)
    marks = [
        PointLabel(point.id, point.x_mm, point.y_mm, _reading_words(point.id, found))
        for point in design.points
        if (point.zero, point.read) == (zero, read) and (found := result.points.get(point.id))
    ]
    title = f"Change from {zero} to {read}"
    return _picture(design, result, heights, marks, size, title, f"from {zero} to {read}")


def colour_step(design: Design, result: Result) -> float:
    """Micrometres in one band of colour, the same on every map of a result."""
    table = _map_of(result)
    fields = [np.asarray(rows) for rows in table.w_um.values()]
    fields += [
        np.asarray(table.w_um[read]) - np.asarray(table.w_um[zero])
        for zero, read in changes_of(design)
        if zero in table.w_um and read in table.w_um
    ]
    most = max(float(np.abs(field).max()) for field in fields)
    return round_step(max(most, FLAT_UM), COLOURS) if most > 0 else FLAT_UM


def _map_of(result: Result) -> Map:
    if result.map is None:
        raise ValueError("There is no map in this result: draw it only where result.map is set.")
    return result.map


def _heights(table: Map, state: State) -> Heights:
    if state not in table.w_um:
        raise ValueError(f"The map holds no state '{state}'; it holds {', '.join(table.w_um)}.")
    return Heights(
        np.asarray(table.x_mm, dtype=np.float64),
        np.asarray(table.y_mm, dtype=np.float64),
        np.asarray(table.w_um[state], dtype=np.float64),
    )


def _reading_words(name: str, point: PointResult) -> tuple[str, ...]:
    return f"{name} {um(point.reading_um.usual)} µm", f"limit {limits_um(point.limit_um)}"


def _picture(
    design: Design,
    result: Result,
    heights: Heights,
    marks: list[PointLabel],
    size: float,
    title: str,
    against: str,
) -> Picture:
    band = colour_step(design, result)
    step = 0.0 if heights.flat else line_step(heights.high - heights.low, MOST_LINES, band)
    caption = _caption(heights, step, against)
    length, width = design.plate.length_mm + 2 * MARGIN_MM, design.plate.width_mm + 2 * MARGIN_MM
    unit = size * max(length / USUAL_VIEW_MM, 1.5 * width / USUAL_VIEW_MM)
    name = f"Bow of {design.code} revision {design.revision}: {title}"
    told = " ".join([caption, _extremes(heights), *(f"Point {m.words[0]}." for m in marks)])
    content = "".join(_content(design, finer(heights), marks, band, step, unit))
    css = "drawing bow small" if size > LARGE else "drawing bow"
    view = f"{fmt(-MARGIN_MM)} {fmt(-MARGIN_MM)} {fmt(length)} {fmt(width + 22 * unit)}"
    return Picture(
        f'<svg xmlns="http://www.w3.org/2000/svg" class="{css}" role="img" viewBox="{view}">'
        f"<title>{escape(name)}</title><desc>{escape(told)}</desc>{content}</svg>",
        title,
        caption,
    )


def _caption(heights: Heights, step: float, against: str) -> str:
    if heights.flat:
        return f"{um(heights.high)} µm {against}, flat within {FLAT_UM:g} µm."
    span = f"{um(heights.low)} to {um(heights.high)} µm {against}"
    return f"{span}; a line every {step:g} µm."


def _extremes(heights: Heights) -> str:
    if heights.flat:
        return ""
    high, low = heights.place_of(highest=True), heights.place_of(highest=False)
    return f"Highest at x {high[0]:g}, y {high[1]:g} mm, lowest at x {low[0]:g}, y {low[1]:g} mm."


def _content(
    design: Design,
    heights: Heights,
    marks: list[PointLabel],
    band: float,
    step: float,
    unit: float,
) -> Iterator[str]:
    sheet, layout = Sheet(design.plate.width_mm), layout_of(design, {})
    radius = balloon_radius(design, unit)
    taken: list[Obstacle] = [(c.x_mm, c.y_mm, radius) for c in design.clamps]
    at_points = "".join(point_marks(marks, design, sheet, 9.5 * unit, taken))
    yield f'<g class="ground">{"".join(bands(heights, band, sheet))}</g>'
    if step > 0:
        yield f'<g class="lines">{"".join(lines(heights, step, sheet))}</g>'
    yield from receiver_marks(design, sheet)
    for stop in design.stops:
        yield from stop_marks(stop, layout, sheet)
    yield sheet.outline("plate", layout.plate, corner_mm=2)
    if step > 0:
        yield from labels(heights, step, sheet, 7.5 * unit, taken)
    yield from balloons(design, sheet, radius)
    yield at_points
    yield _key(design, heights, band, unit)


def balloon_radius(design: Design, unit: float) -> float:
    """As large as the picture's words ask, but never so large that two balloons meet."""
    places = [(clamp.x_mm, clamp.y_mm) for clamp in design.clamps]
    near = min(
        (math.dist(a, b) for n, a in enumerate(places) for b in places[:n]), default=math.inf
    )
    return min(0.9 * BALLOON_MM * unit, 0.48 * near)


def _key(design: Design, heights: Heights, band: float, unit: float) -> str:
    """The bands of colour that this map may hold, with the height at each of their edges."""
    first = min(math.floor(heights.low / band + 1e-9), 0)
    last = max(math.ceil(heights.high / band - 1e-9), 0)
    if first == last:
        return ""
    count, length = last - first, design.plate.length_mm
    swatch = min(36 * unit, 0.62 * length / count)
    left = (length - swatch * count) / 2 - first * swatch
    top, size = design.plate.width_mm + 6 * unit, 7.5 * unit
    grounds = [
        f'<rect class="{_colour(n)}" x="{fmt(left + n * swatch)}" y="{fmt(top)}" '
        f'width="{fmt(swatch)}" height="{fmt(6 * unit)}"/>'
        for n in range(first, last)
    ]
    letters = len(um(band * max(-first, last))) + 2
    every = math.ceil(0.62 * size * letters / swatch)
    edges = [
        _key_text("middle", left + n * swatch, top + 14 * unit, size, um(n * band))
        for n in range(first, last + 1)
        if n % every == 0
    ]
    base, gap = top + 5.4 * unit, 4 * unit
    dish = _key_text("end", left + first * swatch - gap, base, size, "dish, µm") if first else ""
    crown = _key_text("start", left + last * swatch + gap, base, size, "crown, µm") if last else ""
    return f'<g class="key">{"".join([*grounds, *edges])}{dish}{crown}</g>'


def _key_text(anchor: str, x: float, y: float, size: float, words: str) -> str:
    place = f'x="{fmt(x)}" y="{fmt(y)}" font-size="{fmt(size)}" text-anchor="{anchor}"'
    return f"<text {place}>{words}</text>"


def _colour(count: int) -> str:
    return f"crown-{count + 1}" if count >= 0 else f"dish-{-count}"
