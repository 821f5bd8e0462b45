"""What the plate's shape does to a piece that sits on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from api.mechanics.plate.solving import PlateSolver
from api.mechanics.whole.assembly import Site

Array = npt.NDArray[np.float64]
ACROSS = 5


@dataclass(frozen=True)
class Seat:
    """How a footprint stands: mean plane and what is left of the plate's own shape.

    `lift_m` of its middle; `turn_x_rad` = w,y and `turn_y_rad` = -w,x of the mean plane;
    `thickness_m`: change of the piece's thickness when its top is cut level, -lift;
    `parallelism_m`: rise of the mean plane over the footprint; `flatness_m`: height range about the
    mean plane, which the piece takes on if it follows the plate and springs back afterwards.
    """

    lift_m: float
    turn_x_rad: float
    turn_y_rad: float
    thickness_m: float
    parallelism_m: float
    flatness_m: float


def seats(solver: PlateSolver, sites: tuple[Site, ...], field: Array) -> list[Seat]:
    """One seat per site from 5 x 5 heights over its footprint."""
    grids = [_grid(solver, site) for site in sites]
    x, y = (np.concatenate([grid[axis] for grid in grids]) for axis in (0, 1))
    heights = np.split(solver.samples(x, y).value @ field, len(sites))
    return [
        _seat(site, *grid, height) for site, grid, height in zip(sites, grids, heights, strict=True)
    ]


def _grid(solver: PlateSolver, site: Site) -> tuple[Array, Array]:
    step = np.linspace(-0.5, 0.5, ACROSS)
    dx, dy = (grid.ravel() for grid in np.meshgrid(step * site.length_m, step * site.width_m))
    return (
        np.clip(site.x_m + dx, 0.0, solver.shape.length_m),
        np.clip(site.y_m + dy, 0.0, solver.shape.width_m),
    )


def _seat(site: Site, x: Array, y: Array, height: Array) -> Seat:
    plane = np.column_stack([np.ones(len(x)), x - site.x_m, y - site.y_m])
    (mean, slope_x, slope_y), *_ = np.linalg.lstsq(plane, height, rcond=None)
    left = height - plane @ np.array([mean, slope_x, slope_y])
    middle = float(height[len(height) // 2])
    return Seat(
        lift_m=middle,
        turn_x_rad=float(slope_y),
        turn_y_rad=float(-slope_x),
        thickness_m=-middle,
        parallelism_m=float(abs(slope_x) * site.length_m + abs(slope_y) * site.width_m),
        flatness_m=float(left.max() - left.min()),
    )


@dataclass(frozen=True)
class Surface:
    """Heights on an even grid: x (a,), y (b,), and one (b, a) table per field."""

    x_m: Array
    y_m: Array
    heights_m: list[Array]


def surface(solver: PlateSolver, fields: Sequence[Array], step_m: float) -> Surface:
    """Grid lines no farther apart than `step_m`, rim to rim."""
    shape = solver.shape
    x, y = (
        np.linspace(0.0, extent, int(np.ceil(extent / step_m)) + 1)
        for extent in (shape.length_m, shape.width_m)
    )
    grid_x, grid_y = np.meshgrid(x, y)
    at = solver.samples(grid_x.ravel(), grid_y.ravel()).value
    return Surface(x, y, [np.asarray(at @ field).reshape(grid_x.shape) for field in fields])
