"""Shapes of a drawing as SVG text, from plate coordinates (y away from the bench side)."""

from __future__ import annotations

from dataclasses import dataclass

from api.domain.designs import geometry as g


def fmt(value: float) -> str:
    """At most two decimals, none that are zero, never a negative zero."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


@dataclass(frozen=True)
class Sheet:
    """Turns plate coordinates into drawing coordinates for a plate of this width."""

    width_mm: float

    def pair(self, at: g.Point) -> str:
        return f"{fmt(at[0])} {fmt(self.width_mm - at[1])}"

    def line(self, css: str, start: g.Point, end: g.Point) -> str:
        return f'<path class="{css}" d="M{self.pair(start)}L{self.pair(end)}"/>'

    def circle(self, css: str, centre: g.Point, radius: float) -> str:
        x, y = fmt(centre[0]), fmt(self.width_mm - centre[1])
        return f'<circle class="{css}" cx="{x}" cy="{y}" r="{fmt(radius)}"/>'

    def outline(self, css: str, outline: g.Outline, corner_mm: float = 0.0) -> str:
        """A circle, an upright rectangle with rounded corners, or a closed path."""
        if outline.radius is not None:
            return self.circle(css, outline.centre, outline.radius)
        if corner_mm > 0:
            x0, y0, x1, y1 = outline.box
            return (
                f'<rect class="{css}" x="{fmt(x0)}" y="{fmt(self.width_mm - y1)}" width="{fmt(x1 - x0)}" '
                f'height="{fmt(y1 - y0)}" rx="{fmt(corner_mm)}"/>'
            )
        return f'<path class="{css}" d="M{"L".join(self.pair(corner) for corner in outline.corners)}z"/>'

    def text(
        self, css: str, at: g.Point, words: str, size_mm: float, anchor: str = "middle"
    ) -> str:
        """`words` must be escaped already; the text stands with its middle at `at`."""
        x, y = fmt(at[0]), fmt(self.width_mm - at[1] + 0.36 * size_mm)
        place = f'x="{x}" y="{y}" font-size="{fmt(size_mm)}" text-anchor="{anchor}"'
        return f'<text class="{css}" {place}>{words}</text>'
