"""What acts on a plate: pushes on what stands on it, presses, weight."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
GAUSS_AT = 1 / np.sqrt(3)


@dataclass(frozen=True)
class Push:
    """A force on something that stands on the plate, over a footprint of (x, y) half-widths.

    `along` is the horizontal force per unit as (x, y), `up` its vertical part; `height_m` is where
    the horizontal force acts above the plate's top face.
    """

    x_m: float
    y_m: float
    height_m: float
    along: tuple[float, float]
    up: float = 0.0
    half_x_m: float = 0.0
    half_y_m: float = 0.0


@dataclass(frozen=True)
class Spots:
    """Forces at points of the mid-plane that stand for pushes, one row of each array per point.

    `owner` says which push a point belongs to; `force` is (fx, fy, fz), `couple` the arm (x, y) that
    works on the slopes: a horizontal force F at height z above the mid-plane does work
    -F z w,x (a rotation of the plate carries the point back when w,x is positive).
    """

    owner: npt.NDArray[np.int64]
    x_m: Array
    y_m: Array
    force: Array
    couple: Array


def spots_of(pushes: list[Push], half_thickness_m: float, extent_m: tuple[float, float]) -> Spots:
    """Each push shared equally by 2 x 2 Gauss points of its footprint, kept on the plate."""
    signs = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * GAUSS_AT
    centre = np.array([(push.x_m, push.y_m) for push in pushes]).reshape(-1, 1, 2)
    half = np.array([(push.half_x_m, push.half_y_m) for push in pushes]).reshape(-1, 1, 2)
    at = np.clip(centre + half * signs, 0.0, np.array(extent_m)).reshape(-1, 2)
    force = np.array([(*push.along, push.up) for push in pushes]).reshape(-1, 3)
    arm = np.array([push.height_m + half_thickness_m for push in pushes]).reshape(-1, 1)
    return Spots(
        owner=np.repeat(np.arange(len(pushes)), 4),
        x_m=at[:, 0],
        y_m=at[:, 1],
        force=np.repeat(force / 4, 4, axis=0),
        couple=np.repeat(-force[:, :2] * arm / 4, 4, axis=0),
    )
