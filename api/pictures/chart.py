"""Parts of a chart as SVG text: x to the right, y down, in the units of the view box."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from html import escape

from api.domain.designs.drawing.svg import fmt
from api.pictures.steps import multiples, round_step

WIDTH = 760.0


@dataclass(frozen=True)
class Axis:
    """Turns values from `low` to `high` into places from `start` to `end` on the picture."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)

    def ticks(self, most: int) -> list[float]:
        step = round_step(self.high - self.low, most)
        return [*multiples(self.low, self.high, step)]


def picture(css: str, height: float, title: str, told: str, content: Iterable[str]) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="{css}" role="img" '
        f'viewBox="0 0 {fmt(WIDTH)} {fmt(height)}"><title>{escape(title)}</title>'
        f"<desc>{escape(told)}</desc>{''.join(content)}</svg>"
    )


def text(css: str, x: float, y: float, words: str) -> str:
    return f'<text class="{css}" x="{fmt(x)}" y="{fmt(y)}">{escape(words)}</text>'


def line(css: str, x0: float, y0: float, x1: float, y1: float) -> str:
    return f'<path class="{css}" d="M{fmt(x0)} {fmt(y0)}L{fmt(x1)} {fmt(y1)}"/>'


def trace(css: str, places: Iterable[tuple[float, float]]) -> str:
    return f'<path class="{css}" d="M{"L".join(f"{fmt(x)} {fmt(y)}" for x, y in places)}"/>'


def block(css: str, x: float, y: float, width: float, height: float) -> str:
    return (
        f'<rect class="{css}" x="{fmt(x)}" y="{fmt(y)}" width="{fmt(max(width, 0))}" '
        f'height="{fmt(max(height, 0))}"/>'
    )


def dot(css: str, x: float, y: float, radius: float = 3.5) -> str:
    return f'<circle class="{css}" cx="{fmt(x)}" cy="{fmt(y)}" r="{fmt(radius)}"/>'


def square(css: str, x: float, y: float, half: float = 3.6) -> str:
    return block(css, x - half, y - half, 2 * half, 2 * half)


def triangle(css: str, x: float, y: float, half: float = 4.6) -> str:
    top, base, side = fmt(y - half), fmt(2 * half), fmt(1.8 * half)
    return f'<path class="{css}" d="M{fmt(x)} {top}l{fmt(half)} {side}h-{base}z"/>'
