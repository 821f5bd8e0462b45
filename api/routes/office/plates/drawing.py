"""The plan drawing for the office: the sheet's outlines with balloons, crosses and station names."""

from __future__ import annotations

import re
from html import escape
from typing import Any

from markupsafe import Markup

MARGIN_MM = 14.0
BALLOON_MM = 8.0
PRINTABLE_MM = (267.0, 150.0)
SCALES = (1, 2, 5, 10, 20)
_OPENING = re.compile(r"<svg\b[^>]*>")


def full(sheet: dict[str, Any]) -> Markup:
    """Outlines, clamps in balloons, indicator points as crosses, stations by name."""
    return _drawn(sheet, overlay(sheet), "")


def thumb(sheet: dict[str, Any]) -> Markup:
    """Outlines alone, for a list."""
    return _drawn(sheet, "", "")


def to_scale(sheet: dict[str, Any]) -> Markup:
    """The full drawing with its printed size at the largest standard scale that fits A4."""
    divisor = scale_of(sheet)
    width, height = (round(size / divisor, 2) for size in _size(sheet))
    return _drawn(sheet, overlay(sheet), f' class="to-scale" width="{width}mm" height="{height}mm"')


def scale_of(sheet: dict[str, Any]) -> int:
    width, height = _size(sheet)
    fits = (n for n in SCALES if width / n <= PRINTABLE_MM[0] and height / n <= PRINTABLE_MM[1])
    return next(fits, SCALES[-1])


def scale_words(sheet: dict[str, Any]) -> str:
    return f"1 : {scale_of(sheet)}"


def overlay(sheet: dict[str, Any]) -> str:
    up = float(sheet["plate"]["width_mm"])
    parts = [_station(one, up) for one in sheet["stations"]]
    parts += [_point(one, up) for one in sheet["points"]]
    parts += [_balloon(one, up) for one in sheet["clamps"]]
    return "".join(parts)


def _size(sheet: dict[str, Any]) -> tuple[float, float]:
    plate = sheet["plate"]
    return plate["length_mm"] + 2 * MARGIN_MM, plate["width_mm"] + 2 * MARGIN_MM


def _drawn(sheet: dict[str, Any], over: str, attributes: str) -> Markup:
    base = str(sheet["drawing"])
    opening = _OPENING.search(base)
    if opening is None:
        return Markup("")
    box = re.search(r'viewBox="[^"<>]*"', opening.group())
    label = f"Plan of {sheet['design']} revision {sheet['revision']}, seen from above"
    start = (
        f'<svg xmlns="http://www.w3.org/2000/svg" {box.group() if box else ""} role="img" '
        f'aria-label="{escape(label)}"{attributes}>'
    )
    body = base[opening.end() :].rsplit("</svg>", 1)[0]
    return Markup(f"{start}{body}{over}</svg>")  # noqa: S704 - made by our own drawing code


def _balloon(clamp: dict[str, Any], up: float) -> str:
    x, y = clamp["x_mm"], round(up - clamp["y_mm"], 3)
    return (
        f'<g class="o-clamp"><circle cx="{x}" cy="{y}" r="{BALLOON_MM}"/>'
        f'<text x="{x}" y="{round(y + 2.6, 3)}">{escape(clamp["id"])}</text></g>'
    )


def _station(station: dict[str, Any], up: float) -> str:
    x, y = station["x_mm"], round(up - station["y_mm"], 3)
    return f'<text class="o-station" x="{x}" y="{round(y + 3, 3)}">{escape(station["id"])}</text>'


def _point(point: dict[str, Any], up: float) -> str:
    x, y = point["x_mm"], round(up - point["y_mm"], 3)
    return (
        f'<g class="o-point"><path d="M{x} {y - 6}v12M{x - 6} {y}h12"/>'
        f'<text x="{x + 5}" y="{round(y - 3, 3)}">{escape(point["id"])}</text></g>'
    )
