"""Indicator points on a picture of the plate: a cross with its words where there is room."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from html import escape

from api.domain.designs import Design
from api.domain.designs.drawing.marks import CROSS_MM
from api.domain.designs.drawing.svg import Sheet

Obstacle = tuple[float, float, float]
PER_LETTER = 0.62
LINE = 1.15


@dataclass(frozen=True)
class PointLabel:
    id: str
    x_mm: float
    y_mm: float
    words: tuple[str, ...]


def point_marks(
    labels: Iterable[PointLabel],
    design: Design,
    sheet: Sheet,
    size_mm: float,
    taken: list[Obstacle],
) -> Iterator[str]:
    """Each cross with its lines of words beside it; `taken` grows by what is written."""
    for label in labels:
        x, y, half = label.x_mm, label.y_mm, min(CROSS_MM, 0.75 * size_mm)
        taken.append((x, y, half))
        at, anchor = _place(label, design, size_mm, half, taken)
        taken += _covered(label, at, anchor, size_mm)
        rows = "".join(
            sheet.text(
                "label" if n == 0 else "limit",
                (at[0], at[1] - n * LINE * 0.85 * size_mm),
                escape(words),
                size_mm if n == 0 else 0.85 * size_mm,
                anchor,
            )
            for n, words in enumerate(label.words)
        )
        yield (
            f'<g class="point" data-id="{escape(label.id)}">'
            + sheet.line("cross", (x - half, y), (x + half, y))
            + sheet.line("cross", (x, y - half), (x, y + half))
            + rows
            + "</g>"
        )


def _place(
    label: PointLabel, design: Design, size_mm: float, half: float, taken: list[Obstacle]
) -> tuple[tuple[float, float], str]:
    """Right above, left above, right below or left below, whichever has most room."""
    drop = LINE * 0.85 * size_mm * (len(label.words) - 1)
    choices = [
        ((label.x_mm + side * 0.5 * half, label.y_mm + rise), "start" if side > 0 else "end")
        for rise in (0.75 * size_mm + drop, -0.85 * size_mm)
        for side in (1, -1)
    ]
    others = [one for one in taken if one[:2] != (label.x_mm, label.y_mm)]
    return max(
        choices,
        key=lambda one: min(
            _room(_covered(label, one[0], one[1], size_mm), design, others), size_mm
        ),
    )


def _room(own: list[Obstacle], design: Design, others: list[Obstacle]) -> float:
    """The least distance from the words to the plate's edge and to everything else."""
    length, width = design.plate.length_mm, design.plate.width_mm
    edges = [min(x, length - x, y, width - y) for x, y, _ in own]
    apart = [math.dist(a[:2], b[:2]) - a[2] - b[2] for a in own for b in others]
    return min([*edges, *apart])


def _covered(
    label: PointLabel, at: tuple[float, float], anchor: str, size_mm: float
) -> list[Obstacle]:
    """Circles along the words."""
    sign = 1 if anchor == "start" else -1
    return [
        (at[0] + sign * PER_LETTER * size_mm * k, at[1] - n * LINE * 0.85 * size_mm, 0.6 * size_mm)
        for n, words in enumerate(label.words)
        for k in range(0, len(words) + 1, 2)
    ]
