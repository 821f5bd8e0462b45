"""The load of a tool on a held piece, and which of its cases is the worst."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product
from math import cos, pi, sin
from typing import Final

import numpy as np
import numpy.typing as npt

from api.mechanics.grip.cones import MOMENT_ROWS, ROWS, Cones, force_at, scaled
from api.mechanics.grip.contacts import GripError, Vector
from api.mechanics.grip.programme import multiple_from_rest

Array = npt.NDArray[np.float64]

DIRECTIONS: Final = 16
NO_RATE: Final = 1e-10  # a facet that a load approaches slower than this never stops it


@dataclass(frozen=True)
class ToolLoad:
    """Peaks of a tool's load: level in any direction, up, down, and torque clockwise from above.

    Each may be anything from nothing to its peak at the same time as the others.
    """

    level_n: float
    up_n: float = 0.0
    down_n: float = 0.0
    torque_nm: float = 0.0

    def __post_init__(self) -> None:
        parts = (self.level_n, self.up_n, self.down_n, self.torque_nm)
        if not all(np.isfinite(part) and part >= 0 for part in parts):
            raise GripError("The parts of a tool's load must be finite and not negative.")

    def cases(self) -> list[tuple[float, float]]:
        """Axial force (up positive) and torque at the ends of their ranges."""
        axial = sorted({self.up_n, -self.down_n})
        return list(product(axial, sorted({0.0, self.torque_nm})))

    def lifting(self) -> "ToolLoad":
        """The upward force alone."""
        return ToolLoad(0.0, up_n=self.up_n)


@dataclass(frozen=True)
class Worst:
    """The case of a tool's load with the least multiple; any case if that is infinite.

    direction_rad of the level force from x to y, axial_n up positive, torque_nm clockwise.
    """

    multiple: float
    position_m: Vector
    level_n: float
    direction_rad: float
    axial_n: float
    torque_nm: float


def load_column(cones: Cones, case: Worst) -> Array:
    """The column (7,) of one case of a load."""
    level_n, angle = case.level_n, case.direction_rad
    force = (level_n * cos(angle), level_n * sin(angle), case.axial_n)
    return scaled(cones, force_at(force, case.position_m, (0.0, 0.0, -case.torque_nm)))


def worst_by_facets(
    cones: Cones, facets: Array, at_rest: Array, load: ToolLoad, positions_m: Sequence[Vector]
) -> Worst:
    """The least multiple over positions, cases and every direction of the level force.

    A facet a (unit length, a·x >= 0 inside) is reached at m = a·x0 / a·w. Over all directions of
    the level force H the rate a·w is at most H |(a·ex, a·ey)| + A a·ez - T a·ezz, so the worst
    direction of each facet is known and nothing is sampled.
    """
    units = _unit_columns(cones, positions_m)
    along = np.einsum("kr,pcr->kpc", facets, units)
    level = load.level_n * np.hypot(along[..., 0], along[..., 1])
    cases = load.cases()
    rates = np.stack([level + a * along[..., 2] + t * along[..., 3] for a, t in cases], axis=-1)
    room = np.maximum(facets @ at_rest, 0.0)[:, None, None]
    size = np.hypot(load.level_n, max(load.up_n, load.down_n)) + load.torque_nm / cones.length_m
    approached = rates > NO_RATE * size
    with np.errstate(over="ignore"):  # a load next to nothing fits in without end
        multiples = np.divide(room, rates, out=np.full(rates.shape, np.inf), where=approached)
    facet, position, case = np.unravel_index(int(np.argmin(multiples)), multiples.shape)
    east, north = along[facet, position, :2]
    return Worst(
        multiple=float(multiples[facet, position, case]),
        position_m=positions_m[int(position)],
        level_n=load.level_n,
        direction_rad=float(np.arctan2(north, east)),
        axial_n=cases[int(case)][0],
        torque_nm=cases[int(case)][1],
    )


def worst_by_programme(
    cones: Cones, at_rest: Array, load: ToolLoad, positions_m: Sequence[Vector]
) -> Worst:
    """The same by one linear programme per position, case and direction.

    The level force is enlarged by 1 / cos(π / directions), so that the polygon of the directions
    encloses the circle: never above the true least multiple, and at most that much below.
    """
    wide_n = load.level_n / cos(pi / DIRECTIONS)
    turns = np.arange(DIRECTIONS if load.level_n else 1) * 2 * pi / DIRECTIONS
    found = []
    for position, (axial_n, torque_nm), turn in product(positions_m, load.cases(), turns):
        case = Worst(np.inf, position, wide_n, float(turn), axial_n, torque_nm)
        multiple = multiple_from_rest(cones, at_rest, load_column(cones, case)).multiple
        found.append(replace(case, multiple=multiple, level_n=load.level_n))
    return min(found, key=lambda case: case.multiple)


def _unit_columns(cones: Cones, positions_m: Sequence[Vector]) -> Array:
    """Columns of unit forces along x, y, z at positions, and of a unit torque clockwise, (p, 4, 7)."""
    arms = np.array(positions_m) - cones.centre_m
    units = np.zeros((len(arms), 4, ROWS))
    units[:, :3, :3] = np.eye(3)
    if cones.turns:
        units[:, :3, MOMENT_ROWS] = np.cross(arms[:, None, :], np.eye(3)) / cones.length_m
        units[:, 3, MOMENT_ROWS[-1]] = -1 / cones.length_m
    return units
