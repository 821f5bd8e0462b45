"""Bands and lines of equal height as SVG, from heights on a grid."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import contourpy
import numpy as np
import numpy.typing as npt

from api.domain.designs.drawing.svg import Sheet, fmt
from api.pictures.point_labels import Obstacle
from api.pictures.steps import FLAT_UM, multiples
from api.pictures.words import um

Array = npt.NDArray[np.float64]
PLACES = 40
DRAWN_STEPS = 72
SHORTEST_IN_LABELS = 2.5
MOST_LABELS = 2


@dataclass(frozen=True)
class Heights:
    """`w_um[j, i]` belongs to (x_mm[i], y_mm[j])."""

    x_mm: Array
    y_mm: Array
    w_um: Array

    @property
    def low(self) -> float:
        return float(self.w_um.min())

    @property
    def high(self) -> float:
        return float(self.w_um.max())

    @property
    def flat(self) -> bool:
        return self.high - self.low < FLAT_UM

    def place_of(self, *, highest: bool) -> tuple[float, float]:
        flat = int(self.w_um.argmax() if highest else self.w_um.argmin())
        j, i = divmod(flat, self.w_um.shape[1])
        return float(self.x_mm[i]), float(self.y_mm[j])

    @cached_property
    def contours(self) -> contourpy.ContourGenerator:
        return contourpy.contour_generator(
            self.x_mm,
            self.y_mm,
            self.w_um,
            line_type=contourpy.LineType.Separate,
            fill_type=contourpy.FillType.OuterOffset,
        )

    def areas(self, low: float, high: float) -> tuple[list[Array], list[list[int]]]:
        """Corners of each area between two heights, and where its outline and holes begin in them."""
        points, offsets = self.contours.filled(low, high)[:2]
        return [np.asarray(each, dtype=np.float64) for each in points], [
            [int(n) for n in np.asarray(each)] for each in offsets
        ]

    def lines(self, level: float) -> list[Array]:
        """The pieces of the line of one height, each (n, 2) in millimetres."""
        return [np.asarray(piece, dtype=np.float64) for piece in self.contours.lines(level)]


def finer(heights: Heights) -> Heights:
    """The same heights on a grid fine enough to draw, by cubics between the given ones.

    Slopes are central differences, so that a parabola stays exactly one.
    """
    step = max(np.ptp(heights.x_mm), np.ptp(heights.y_mm)) / DRAWN_STEPS
    x_mm, across = _between(heights.x_mm, heights.w_um.T, step)
    y_mm, drawn = _between(heights.y_mm, across.T, step)
    return Heights(x_mm, y_mm, drawn)


def _between(at: Array, values: Array, step: float) -> tuple[Array, Array]:
    """Cubic Hermite interpolation along the first axis to about `step`."""
    gaps = np.diff(at)
    parts = math.ceil(float(gaps.max()) / step - 1e-9)
    if parts <= 1 or len(at) < 3:
        return at, values
    slopes = np.gradient(values, at, axis=0, edge_order=2)
    first = np.repeat(np.arange(len(gaps)), parts)
    t, gap = np.tile(np.arange(parts) / parts, len(gaps)), gaps[first]
    a, b, tt, hh = first, first + 1, t[:, None], gap[:, None]
    inner = (
        (1 + 2 * tt) * (1 - tt) ** 2 * values[a]
        + tt**2 * (3 - 2 * tt) * values[b]
        + hh * tt * (1 - tt) * ((1 - tt) * slopes[a] - tt * slopes[b])
    )
    return np.append(at[first] + t * gap, at[-1]), np.vstack([inner, values[-1:]])


def bands(heights: Heights, step: float, sheet: Sheet) -> Iterator[str]:
    """Ground colours, one class for each step up or down; a farther one lies on a nearer one."""
    for count in range(math.floor(heights.high / step + 1e-9) + 1 if heights.high > 0 else 0):
        yield _band(heights, count * step, np.inf, f"crown-{count + 1}", sheet)
    for count in range(math.floor(-heights.low / step + 1e-9) + 1 if heights.low < 0 else 0):
        yield _band(heights, -np.inf, -count * step, f"dish-{count + 1}", sheet)


def _band(heights: Heights, low: float, high: float, css: str, sheet: Sheet) -> str:
    points, offsets = heights.areas(low, high)
    drawn = []
    for ring, starts in zip(points, offsets, strict=True):
        drawn += [_path(ring[a:b], sheet) + "z" for a, b in pairwise(starts)]
    return f'<path class="{css}" d="{"".join(drawn)}"/>' if drawn else ""


def lines(heights: Heights, step: float, sheet: Sheet) -> Iterator[str]:
    """One path for each level: class `zero`, `above` or `below`."""
    for level in _levels(heights, step):
        drawn = "".join(_path(piece, sheet) for piece in heights.lines(level))
        if drawn:
            yield f'<path class="{_side(level)}" data-um="{level:g}" d="{drawn}"/>'


def labels(
    heights: Heights, step: float, sheet: Sheet, size_mm: float, taken: list[Obstacle]
) -> Iterator[str]:
    """The height at each line, where there is room for it; `taken` grows by what is written."""
    levels = sorted(_levels(heights, step), key=lambda level: (abs(level) > 0, -abs(level)))
    for level in levels:
        words = um(level) if step >= 1 else f"{level:g}".replace("-", "\u2212")
        half = 0.31 * size_mm * len(words) + 0.3 * size_mm
        pieces = sorted(heights.lines(level), key=_length, reverse=True)[:MOST_LABELS]
        for piece in pieces:
            if _length(piece) < SHORTEST_IN_LABELS * 2 * half:
                continue
            found = _room(heights, piece, half, taken)
            if found is None:
                continue
            x, y, turn = found
            taken.append((x, y, half))
            place = f"translate({fmt(x)} {fmt(sheet.width_mm - y)}) rotate({fmt(turn)})"
            yield (
                f'<text class="level" transform="{place}" y="{fmt(0.36 * size_mm)}" '
                f'font-size="{fmt(size_mm)}" text-anchor="middle">{words}</text>'
            )


def _levels(heights: Heights, step: float) -> list[float]:
    if heights.flat:
        return []
    return [round(level, 9) + 0.0 for level in multiples(heights.low, heights.high, step)]


def _side(level: float) -> str:
    return "zero" if level == 0 else "above" if level > 0 else "below"


def _path(points: Array, sheet: Sheet) -> str:
    return "M" + "L".join(f"{_mm(x)} {_mm(sheet.width_mm - y)}" for x, y in points)


def _mm(value: float) -> str:
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def _length(piece: Array) -> float:
    return float(np.hypot(*np.diff(piece, axis=0).T).sum())


def _room(
    heights: Heights, piece: Array, half: float, taken: list[Obstacle]
) -> tuple[float, float, float] | None:
    """The place on a line with the most room around it, and the turn of a label there."""
    run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(piece, axis=0).T))])
    at = np.linspace(half, run[-1] - half, PLACES)
    xs, ys = np.interp(at, run, piece[:, 0]), np.interp(at, run, piece[:, 1])
    room = _inside(heights, xs, ys) - 0.6 * half
    for x, y, reach in taken:
        room = np.minimum(room, np.hypot(xs - x, ys - y) - reach - half)
    best = int(np.argmax(np.minimum(room, 4 * half)))
    if room[best] < 0:
        return None
    ahead = np.interp([at[best] - half, at[best] + half], run, piece[:, 0])
    across = np.interp([at[best] - half, at[best] + half], run, piece[:, 1])
    turn = -math.degrees(math.atan2(across[1] - across[0], ahead[1] - ahead[0]))
    turn = turn - 180 if turn > 90 else turn + 180 if turn < -90 else turn
    return float(xs[best]), float(ys[best]), turn


def _inside(heights: Heights, xs: Array, ys: Array) -> Array:
    x0, x1, y0, y1 = heights.x_mm[0], heights.x_mm[-1], heights.y_mm[0], heights.y_mm[-1]
    room: Array = np.min([xs - x0, x1 - xs, ys - y0, y1 - ys], axis=0)
    return room
