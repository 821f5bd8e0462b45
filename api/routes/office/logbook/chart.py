"""Readings of one point over time as an SVG drawing; pure, no styles of its own."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass
from html import escape

from api.routes.office.formatting import day, number

WIDTH, HEIGHT = 1080, 400
LEFT, RIGHT, TOP, BOTTOM = 62, 118, 18, 34


@dataclass(frozen=True)
class Dot:
    """One reading as it counts now."""

    at: dt.datetime
    value_mm: float
    label: str
    href: str
    out: bool = False


@dataclass(frozen=True)
class Chart:
    dots: list[Dot]
    low_mm: float | None
    high_mm: float | None
    title: str


@dataclass(frozen=True)
class Scale:
    """Linear map of values to drawing units."""

    low: float
    high: float
    start: float
    end: float

    def __call__(self, value: float) -> float:
        share = (value - self.low) / (self.high - self.low)
        return round(self.start + share * (self.end - self.start), 2)


def round_step(width: float, parts: int = 7) -> float:
    """The 1-2-5 step that cuts `width` into about `parts`."""
    rough = width / parts
    power = 10.0 ** math.floor(math.log10(rough))
    return next(step * power for step in (1, 2, 5, 10) if step * power >= rough)


def value_range(chart: Chart) -> tuple[float, float]:
    """From zero and the limits outwards, so that the height of a dot can be judged."""
    values = [dot.value_mm for dot in chart.dots] + [0.0]
    values += [limit for limit in (chart.low_mm, chart.high_mm) if limit is not None]
    low, high = min(values), max(values)
    pad = (high - low) * 0.08 or 0.01
    return (low if low == 0 else low - pad), high + pad


def usual_band(dots: list[Dot]) -> tuple[float, float, float] | None:
    """Low, median and high of the middle 90 % of the readings; needs eight."""
    values = sorted(dot.value_mm for dot in dots)
    if len(values) < 8:
        return None
    return _quantile(values, 0.05), _quantile(values, 0.5), _quantile(values, 0.95)


def _quantile(ordered: list[float], share: float) -> float:
    place = share * (len(ordered) - 1)
    below = math.floor(place)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (place - below) * (ordered[above] - ordered[below])


def draw(chart: Chart) -> str:
    """The whole chart; an empty string without readings."""
    if not chart.dots:
        return ""
    dots = sorted(chart.dots, key=lambda dot: dot.at)
    low, high = value_range(chart)
    up = Scale(low, high, HEIGHT - BOTTOM, TOP)
    along = _time_scale(dots)
    parts = [
        *_band(dots, up),
        *_grid(low, high, up),
        *_limits(chart, up),
        *_days(dots, along),
        _trace(dots, along, up),
        *(_dot(dot, along, up, stop=dot is dots[-1]) for dot in dots),
        _last(dots[-1], along, up, chart),
    ]
    return (
        f'<svg viewBox="0 0 {WIDTH} {HEIGHT}" role="group" aria-label="{escape(chart.title)}">'
        + "".join(parts)
        + "</svg>"
    )


def _time_scale(dots: list[Dot]) -> Scale:
    first, last = dots[0].at.timestamp(), dots[-1].at.timestamp()
    if first == last:
        first, last = first - 86_400, last + 86_400
    return Scale(first, last, LEFT + 10, WIDTH - RIGHT - 10)


def _line(name: str, x1: float, y1: float, x2: float, y2: float) -> str:
    return f'<line class="{name}" x1="{x1}" y1="{y1}" x2="{x2}" y2="{y2}"/>'


def _text(name: str, x: float, y: float, words: str) -> str:
    return f'<text class="{name}" x="{x}" y="{y}">{escape(words)}</text>'


def _band(dots: list[Dot], up: Scale) -> list[str]:
    band = usual_band(dots)
    if band is None:
        return []
    low, middle, high = (up(value) for value in band)
    width = WIDTH - RIGHT - LEFT
    return [
        f'<rect class="band" x="{LEFT}" y="{high}" width="{width}" height="{round(low - high, 2)}"/>',
        _line("usual", LEFT, middle, WIDTH - RIGHT, middle),
    ]


def _grid(low: float, high: float, up: Scale) -> list[str]:
    step = round_step(high - low)
    decimals = max(0, -math.floor(math.log10(step)))
    parts: list[str] = []
    for index in range(math.ceil(low / step), math.floor(high / step) + 1):
        y = up(index * step)
        parts.append(_line("zero" if index == 0 else "grid", LEFT, y, WIDTH - RIGHT, y))
        label = f"{index * step:.{decimals}f}".replace("-", "\u2212")
        parts.append(_text("end", LEFT - 8, y + 4, label))
    parts.append(_text("", 0, TOP - 6, "mm"))
    return parts


def _limits(chart: Chart, up: Scale) -> list[str]:
    parts: list[str] = []
    for limit in {chart.low_mm, chart.high_mm} - {None}:
        y = up(limit or 0.0)
        parts.append(_line("limit", LEFT, y, WIDTH - RIGHT, y))
        parts.append(_text("says-limit", WIDTH - RIGHT + 8, y + 4, f"limit {number(limit)}"))
    return sorted(parts)


def _days(dots: list[Dot], along: Scale) -> list[str]:
    base = HEIGHT - BOTTOM
    parts = [_line("axis", LEFT, base, WIDTH - RIGHT, base)]
    marks = 4 if len(dots) > 3 else 2
    for index in range(marks):
        at = along.low + (along.high - along.low) * index / (marks - 1)
        x = along(at)
        parts.append(_line("axis", x, base, x, base + 5))
        name = "mid" if 0 < index < marks - 1 else ("" if index == 0 else "end")
        parts.append(_text(name, x, base + 21, day(dt.datetime.fromtimestamp(at, dt.UTC))))
    return parts


def _trace(dots: list[Dot], along: Scale, up: Scale) -> str:
    points = " ".join(f"{along(dot.at.timestamp())},{up(dot.value_mm)}" for dot in dots)
    return f'<polyline class="trace" points="{points}"/>'


def _dot(dot: Dot, along: Scale, up: Scale, *, stop: bool) -> str:
    """A dot; only the newest is a stop for Tab, arrow keys lead to the others."""
    x, y = along(dot.at.timestamp()), up(dot.value_mm)
    name = "dot out" if dot.out else "dot"
    shape = f'<circle class="{name}" cx="{x}" cy="{y}" r="3.6"/>'
    if dot.out:
        shape = f'<path class="{name}" d="M{x} {y - 5.5}l5.5 9.5h-11z"/>'
    return (
        f'<a href="{escape(dot.href)}" aria-label="{escape(dot.label)}" '
        f'tabindex="{0 if stop else -1}">'
        f'<circle class="hit" cx="{x}" cy="{y}" r="12"/>{shape}</a>'
    )


def _last(dot: Dot, along: Scale, up: Scale, chart: Chart) -> str:
    y = up(dot.value_mm)
    near = [up(limit) for limit in (chart.low_mm, chart.high_mm) if limit is not None]
    if any(abs(y - other) < 15 for other in near):
        return ""
    return _text("says-last", WIDTH - RIGHT + 8, y + 4, f"last {number(dot.value_mm)}")
