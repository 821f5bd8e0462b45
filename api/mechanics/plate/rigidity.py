"""Bending rigidity from place to place: plate, pockets and the bars on top."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from api.mechanics.plate.shape import Bar, PlateShape, Rectangle

Array = npt.NDArray[np.float64]
TAKE_UP = 1.25


def thickness_m(shape: PlateShape, x_m: Array, y_m: Array) -> Array:
    """Thickness left at each place; overlapping pockets leave the least of theirs."""
    left = np.full_like(x_m, shape.thickness_m)
    for pocket in shape.pockets:
        inside = within(pocket.area, x_m, y_m)
        left = np.where(inside, np.minimum(left, shape.thickness_m - pocket.depth_m), left)
    return left


def within(area: Rectangle, x_m: Array, y_m: Array) -> npt.NDArray[np.bool_]:
    return (x_m > area.x0_m) & (x_m < area.x1_m) & (y_m > area.y0_m) & (y_m < area.y1_m)


def bending_rigidity(shape: PlateShape, x_m: Array, y_m: Array) -> Array:
    """Moments per width over curvatures, (3, 3, *places), N·m.

    For (Mx, My, Mxy) = D (-w,xx, -w,yy, -2 w,xy) of a thin isotropic plate,
        D = E t^3/[12 (1 - nu^2)] * [[1, nu, 0], [nu, 1, 0], [0, 0, (1 - nu)/2]],
    plus that of the bars. Valid for thickness up to about a tenth of the span; couples bend a
    thick plate like a thin one, since they cause no shear. Source: Kirchhoff's plate theory.
    """
    nu = shape.nu
    pattern = np.array([[1.0, nu, 0.0], [nu, 1.0, 0.0], [0.0, 0.0, (1 - nu) / 2]])
    plain = shape.e_pa * thickness_m(shape, x_m, y_m) ** 3 / (12 * (1 - nu**2))
    rigidity = pattern[:, :, *([None] * x_m.ndim)] * plain
    for bar in shape.bars:
        rigidity = rigidity + _bar_rigidity(bar, shape.thickness_m, x_m, y_m)
    return rigidity


def _bar_rigidity(bar: Bar, plate_thickness_m: float, x_m: Array, y_m: Array) -> Array:
    """What a bar adds within its own outline, spread over its width, (3, 3, *places).

    Bending about the plate's mid-plane in either direction, E (z1^3 - z0^3)/3 with z from the
    mid-plane, times how much of the strain has been taken up there; twist by the bar's own
    torsion constant, G J/4 per width for the curvature 2 w,xy.
    """
    inside = within(bar.area, x_m, y_m)
    low, high = plate_thickness_m / 2, plate_thickness_m / 2 + bar.height_m
    about_mid_plane = bar.e_pa * (high**3 - low**3) / 3
    added = np.zeros((3, 3, *x_m.shape))
    middle_x, middle_y = (bar.area.x0_m + bar.area.x1_m) / 2, (bar.area.y0_m + bar.area.y1_m) / 2
    added[0, 0] = about_mid_plane * taken_up(x_m - middle_x, bar.area.length_m, bar.height_m)
    added[1, 1] = about_mid_plane * taken_up(y_m - middle_y, bar.area.width_m, bar.height_m)
    shear_pa = bar.e_pa / (2 * (1 + bar.nu))
    across_m = min(bar.area.length_m, bar.area.width_m)
    added[2, 2] = shear_pa * torsion_constant_m4(across_m, bar.height_m) / across_m / 4
    return added * np.where(inside, bar.share, 0.0)


def taken_up(from_middle_m: Array, length_m: float, height_m: float) -> Array:
    """Share of the plate's strain that reaches up into a bar, 0 at its ends: 1 - cosh s/cosh l.

    A bar is strained only through the shear at its foot, so its ends take no part (shear lag,
    Volkersen's lap-joint equation): share = 1 - cosh(s/a)/cosh(l/2a), s from the middle of the
    length l. The take-up length a = 1.25 x the bar's height is fitted to solid models of bars in
    one piece with the plate (free bow within 1 % with it, across and along the bar alike).
    """
    reach_m = TAKE_UP * height_m
    s, half = np.minimum(np.abs(from_middle_m), length_m / 2) / reach_m, length_m / 2 / reach_m
    # cosh(s)/cosh(half) without overflow for long bars
    ratio = np.exp(s - half) * (1 + np.exp(-2 * s)) / (1 + np.exp(-2 * half))
    return np.asarray(1 - ratio)


def torsion_constant_m4(one_m: float, other_m: float) -> float:
    """J of a solid rectangle, a b^3 [1/3 - 0.21 (b/a)(1 - b^4/(12 a^4))], b the shorter side.

    Source: Roark's formulas; within 0.5 % of Saint-Venant's series.
    """
    a, b = max(one_m, other_m), min(one_m, other_m)
    return a * b**3 * (1 / 3 - 0.21 * b / a * (1 - b**4 / (12 * a**4)))
