"""Forces on a grid: patches of evenly spread traction, a clamp body's couple, pads and pulls."""

from __future__ import annotations

import numpy as np

from tests.bench.solid.case import BodyPush, Case, FacePush, Pad, Push
from tests.bench.solid.grid import Floats, Grid, values_at

PER_SIDE = 6


def gauss(low: float, high: float, points: int) -> tuple[Floats, Floats]:
    at, share = np.polynomial.legendre.leggauss(points)
    return low + (high - low) * (at + 1) / 2, share * (high - low) / 2


def square(wide: float, high: float) -> tuple[Floats, Floats, Floats]:
    """Points and areas over a rectangle about its middle."""
    u, du = gauss(-wide / 2, wide / 2, PER_SIDE)
    v, dv = gauss(-high / 2, high / 2, PER_SIDE)
    uu, vv = np.meshgrid(u, v, indexing="ij")
    return uu.ravel(), vv.ravel(), np.outer(du, dv).ravel()


def ring(inner: float, outer: float, radial: int, around: int) -> tuple[Floats, Floats, Floats]:
    """Points and areas over an annulus about its middle."""
    r, dr = gauss(inner, outer, radial)
    turn = (np.arange(around) + 0.5) * 2 * np.pi / around
    area = np.outer(r * dr, np.full(around, 2 * np.pi / around))
    return np.outer(r, np.cos(turn)).ravel(), np.outer(r, np.sin(turn)).ravel(), area.ravel()


def along(angle_deg: float) -> Floats:
    angle = np.deg2rad(angle_deg)
    return np.array([np.cos(angle), np.sin(angle), 0.0])


def push_row(grid: Grid, case: Case, push: Push) -> Floats:
    """The nodal forces of one push per newton of it, [dofs]."""
    if isinstance(push, FacePush):
        return face_row(grid, case, push)
    return body_row(grid, case, push)


def face_row(grid: Grid, case: Case, push: FacePush) -> Floats:
    u, v, area = square(push.wide_mm, push.high_mm)
    way = along(push.angle_deg)
    middle = np.array([push.x_mm, push.y_mm, case.size_mm[2] + push.height_mm])
    sideways = np.array([-way[1], way[0], 0.0])
    points = middle[:, None] + np.outer(sideways, u) + np.outer([0.0, 0.0, 1.0], v)
    rows = values_at(grid, points, np.repeat(way[:, None], u.size, axis=1))
    return np.asarray(rows.T @ (area / area.sum()))


def body_row(grid: Grid, case: Case, push: BodyPush) -> Floats:
    """Even shear, and upright traction that varies linearly: its couple is force times height."""
    u, v, area = square(push.footprint_mm, push.footprint_mm)
    way = along(push.angle_deg)
    points = np.vstack([push.x_mm + u, push.y_mm + v, np.full(u.size, case.size_mm[2])])
    ahead = way[0] * u + way[1] * v
    upright = -push.height_mm * ahead * area / (area @ ahead**2)
    shear = values_at(grid, points, np.repeat(way[:, None], u.size, axis=1))
    lift = values_at(grid, points, np.repeat([[0.0], [0.0], [1.0]], u.size, axis=1))
    return np.asarray(shear.T @ (area / area.sum()) + lift.T @ upright)


def under(pad: Pad, u: Floats, v: Floats) -> Floats:
    return np.vstack([pad.x_mm + u, pad.y_mm + v, np.zeros(u.size)])


def upright(count: int) -> Floats:
    return np.repeat([[0.0], [0.0], [1.0]], count, axis=1)


def pull_row(grid: Grid, pad: Pad) -> Floats:
    u, v, area = ring(0.0, pad.bore_mm / 2, 3, 12)
    rows = values_at(grid, under(pad, u, v), upright(u.size))
    return np.asarray(rows.T @ (-pad.pull_n * area / area.sum()))
