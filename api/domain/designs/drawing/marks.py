"""Balloons, indicator crosses and names on the plan of a plate."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import escape

from api.domain.designs import geometry as g
from api.domain.designs.document import Design
from api.domain.designs.drawing.svg import Sheet, fmt

BALLOON_MM = 9.0
CROSS_MM = 7.0


def clamp_labels(design: Design) -> dict[str, str]:
    """A clamp's number where all ids are one prefix with a number, as C1 to C8; else its id."""
    found = {
        clamp.id: re.fullmatch(r"([A-Za-z._-]*)(\d{1,3})", clamp.id) for clamp in design.clamps
    }
    prefixes = {match.group(1) for match in found.values() if match}
    if len(prefixes) != 1 or not all(found.values()):
        return {name: name for name in found}
    return {name: match.group(2) for name, match in found.items() if match}


def balloons(design: Design, sheet: Sheet, radius_mm: float = BALLOON_MM) -> Iterator[str]:
    labels = clamp_labels(design)
    for clamp in design.clamps:
        words = labels[clamp.id]
        at = (clamp.x_mm, clamp.y_mm)
        size = radius_mm if len(words) <= 2 else radius_mm * 2 / len(words)
        yield (
            f'<g class="balloon" data-id="{escape(clamp.id)}">'
            + sheet.circle("ring", at, radius_mm)
            + sheet.text("number", at, escape(words), size)
            + "</g>"
        )


def points(design: Design, sheet: Sheet) -> Iterator[str]:
    for point in design.points:
        x, y = point.x_mm, point.y_mm
        yield (
            f'<g class="point" data-id="{escape(point.id)}">'
            + sheet.line("cross", (x - CROSS_MM, y), (x + CROSS_MM, y))
            + sheet.line("cross", (x, y - CROSS_MM), (x, y + CROSS_MM))
            + sheet.text("label", (x + 5, y + 6), escape(point.id), 9, "start")
            + "</g>"
        )


def names(design: Design, sheet: Sheet) -> Iterator[str]:
    """Station and stop names, on a clear ground where lines would run through them."""
    for station in design.stations:
        at, lined = (station.x_mm, station.y_mm), station.shape == "round"
        yield _tag(sheet, at, station.id, "tag on-part" if lined else "")
    for stop in design.stops:
        yield _tag(sheet, (stop.x_mm, stop.y_mm), stop.id, "tag")


def _tag(sheet: Sheet, at: g.Point, words: str, css: str) -> str:
    """A name; with a class for its ground where lines would run through it."""
    text = sheet.text("name", at, escape(words), 8)
    if not css:
        return text
    width, height = 5.4 * len(words) + 3, 11.0
    box = g.around(at, width, height)
    x0, _, _, y1 = box.box
    return (
        f'<rect class="{css}" x="{fmt(x0)}" y="{fmt(sheet.width_mm - y1)}" width="{fmt(width)}" '
        f'height="{fmt(height)}"/>' + text
    )
