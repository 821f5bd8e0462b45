"""Outlines seen from above, in millimetres: what lies where, what touches and what overlaps."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

Point = tuple[float, float]
ROUND_CORNERS = 64
TOUCH_MM = 0.05


@dataclass(frozen=True)
class Outline:
    """A convex outline, corners in order; `radius` is set for a circle."""

    corners: tuple[Point, ...]
    radius: float | None = None

    @cached_property
    def centre(self) -> Point:
        xs, ys = zip(*self.corners, strict=True)
        return ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        xs, ys = zip(*self.corners, strict=True)
        return min(xs), min(ys), max(xs), max(ys)


def rectangle(x: float, y: float, length: float, width: float) -> Outline:
    """From its corner nearest the origin."""
    return Outline(((x, y), (x + length, y), (x + length, y + width), (x, y + width)))


def around(centre: Point, length: float, width: float) -> Outline:
    return rectangle(centre[0] - length / 2, centre[1] - width / 2, length, width)


def circle(centre: Point, radius: float) -> Outline:
    turn = 2 * math.pi / ROUND_CORNERS
    return Outline(
        tuple(
            (centre[0] + radius * math.cos(k * turn), centre[1] + radius * math.sin(k * turn))
            for k in range(ROUND_CORNERS)
        ),
        radius,
    )


def hexagon(centre: Point, across_flats: float) -> Outline:
    radius = across_flats / math.sqrt(3)
    return Outline(
        tuple(
            (
                centre[0] + radius * math.cos(k * math.pi / 3),
                centre[1] + radius * math.sin(k * math.pi / 3),
            )
            for k in range(6)
        )
    )


def turned_box(centre: Point, axis_deg: float, back: float, front: float, width: float) -> Outline:
    """A box along an axis, from `back` behind the centre to `front` before it."""
    (ux, uy), half = direction(axis_deg), width / 2
    corners = [(-back, -half), (front, -half), (front, half), (-back, half)]
    return Outline(
        tuple((centre[0] + a * ux - b * uy, centre[1] + a * uy + b * ux) for a, b in corners)
    )


def direction(axis_deg: float) -> Point:
    return round(math.cos(math.radians(axis_deg)), 12), round(math.sin(math.radians(axis_deg)), 12)


def overlap_mm(one: Outline, other: Outline) -> float:
    """How far two convex outlines reach into each other; 0 or less where they do not.

    The least penetration over the separating axes: the normals of edges, and for a circle the line
    to the nearest corner of the other.
    """
    a, b = one.box, other.box
    rough = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
    if min(rough) <= 0:
        return min(rough)
    if one.radius is not None and other.radius is not None:
        return one.radius + other.radius - math.dist(one.centre, other.centre)
    least = math.inf
    for normal in [*_axes(one, other), *_axes(other, one)]:
        low_a, high_a = _span(one, normal)
        low_b, high_b = _span(other, normal)
        least = min(least, high_a - low_b, high_b - low_a)
        if least <= 0:
            break
    return least


def inside(inner: Outline, outer: Outline) -> bool:
    """Whether `inner` lies within the upright rectangle `outer`, touching allowed."""
    a, b = inner.box, outer.box
    return (
        a[0] >= b[0] - TOUCH_MM
        and a[1] >= b[1] - TOUCH_MM
        and a[2] <= b[2] + TOUCH_MM
        and a[3] <= b[3] + TOUCH_MM
    )


def holds(outline: Outline, point: Point) -> bool:
    """Whether a point lies within the outline, not just on its edge."""
    if outline.radius is not None:
        return math.dist(outline.centre, point) < outline.radius - TOUCH_MM
    return all(
        low + TOUCH_MM < point[0] * nx + point[1] * ny < high - TOUCH_MM
        for nx, ny in _normals(outline)
        for low, high in [_span(outline, (nx, ny))]
    )


def ray_hits(start: Point, along: Point, outline: Outline) -> tuple[float, float] | None:
    """Distances from `start` at which the whole line along `along` enters and leaves the outline.

    Negative distances lie behind the start; None where the line misses it.
    """
    if outline.radius is not None:
        return _circle_hits(start, along, outline)
    enter, leave = -math.inf, math.inf
    for nx, ny in _normals(outline):
        low, high = _span(outline, (nx, ny))
        at, speed = start[0] * nx + start[1] * ny, along[0] * nx + along[1] * ny
        if abs(speed) < 1e-9:
            if not low - 1e-9 <= at <= high + 1e-9:
                return None
            continue
        first, second = sorted(((low - at) / speed, (high - at) / speed))
        enter, leave = max(enter, first), min(leave, second)
    return (enter, leave) if enter <= leave else None


def offset_from_line(point: Point, start: Point, along: Point) -> float:
    """Distance of a point from the line through `start`."""
    return abs((point[0] - start[0]) * along[1] - (point[1] - start[1]) * along[0])


def along_line(point: Point, start: Point, along: Point) -> float:
    return (point[0] - start[0]) * along[0] + (point[1] - start[1]) * along[1]


def bar_axis(size_mm: tuple[float, float, float]) -> Literal["x", "y", "z"] | None:
    """The axis of a round part from its sizes: the two equal ones are its diameter."""
    x, y, z = size_mm
    slack = 0.005 * max(size_mm)
    if abs(x - y) <= slack:
        return "z"
    if abs(x - z) <= slack:
        return "y"
    return "x" if abs(y - z) <= slack else None


def _circle_hits(start: Point, along: Point, outline: Outline) -> tuple[float, float] | None:
    radius, centre = outline.radius or 0.0, outline.centre
    off, at = offset_from_line(centre, start, along), along_line(centre, start, along)
    if off > radius:
        return None
    half = math.sqrt(radius**2 - off**2)
    return at - half, at + half


def _normals(outline: Outline) -> list[Point]:
    corners, found = outline.corners, []
    count = len(corners)
    half = count // 2 if count % 2 == 0 else count
    for k in range(half):
        (ax, ay), (bx, by) = corners[k], corners[(k + 1) % count]
        length = math.hypot(bx - ax, by - ay)
        if length > 0:
            found.append(((by - ay) / length, (ax - bx) / length))
    return found


def _axes(outline: Outline, other: Outline) -> list[Point]:
    if outline.radius is None:
        return _normals(outline)
    x, y = outline.centre
    near = min(other.corners, key=lambda corner: math.dist(corner, (x, y)))
    length = math.dist(near, (x, y))
    return [((near[0] - x) / length, (near[1] - y) / length)] if length > 0 else []


def _span(outline: Outline, normal: Point) -> Point:
    if outline.radius is not None:
        middle = outline.centre[0] * normal[0] + outline.centre[1] * normal[1]
        return middle - outline.radius, middle + outline.radius
    reach = [x * normal[0] + y * normal[1] for x, y in outline.corners]
    return min(reach), max(reach)
