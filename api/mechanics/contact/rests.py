"""Where a plate can be touched from below, and where it is pulled down."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
RINGS, SPOKES, BORE_SPOKES = 3, 16, 8
BASE_CELLS = 18
STEEL_E_PA, STEEL_NU = 205e9, 0.29


@dataclass(frozen=True)
class Receivers:
    """Equal receivers: ring-shaped pads at (x, y), each pulling the plate with `pull_n`.

    `everywhere` says that the plate can also touch the flat base between them.
    """

    x_m: tuple[float, ...]
    y_m: tuple[float, ...]
    outer_m: float
    inner_m: float
    pull_n: float
    everywhere: bool


@dataclass(frozen=True)
class Rests:
    """Points that can push up, (k,): place, stiffness in N/m, and the pad each belongs to (-1: base)."""

    x_m: Array
    y_m: Array
    stiffness_n_m: Array
    pad: npt.NDArray[np.int64]


def contact_stiffness_pa_m(receivers: Receivers, e_pa: float, nu: float) -> float:
    """Mean pressure per approach of a flat ring on the plate, N/m3: 2 E* a/A.

    A rigid punch of radius a on a half-space gives F = 2 E* a d (Boussinesq), here spread over the
    ring's area A; 1/E* = (1 - nu^2)/E of the plate and of a steel receiver. Typical, not exact: the
    bow of a locked plate changes little with it.
    """
    flexibility = (1 - nu**2) / e_pa + (1 - STEEL_NU**2) / STEEL_E_PA
    area_m2 = np.pi * (receivers.outer_m**2 - receivers.inner_m**2)
    return float(2 * receivers.outer_m / flexibility / area_m2)


def rests_of(receivers: Receivers, extent_m: tuple[float, float], stiffness_pa_m: float) -> Rests:
    """Points of the pads' rings, and of the base where the plate can touch it anywhere."""
    x, y, area, pad = _pads(receivers)
    if receivers.everywhere:
        base_x, base_y, base_area = _base(extent_m)
        x, y = np.concatenate([x, base_x]), np.concatenate([y, base_y])
        area = np.concatenate([area, base_area])
        pad = np.concatenate([pad, np.full(len(base_x), -1)])
    on = (x >= 0) & (x <= extent_m[0]) & (y >= 0) & (y <= extent_m[1])
    return Rests(x[on], y[on], stiffness_pa_m * area[on], pad[on])


def pulls_of(receivers: Receivers) -> tuple[Array, Array, Array]:
    """Points of the bores that share each stud's pull: x, y and force (negative), (k,)."""
    angle = 2 * np.pi * (np.arange(BORE_SPOKES) + 0.5) / BORE_SPOKES
    radius = receivers.inner_m / np.sqrt(2)
    x = np.add.outer(np.array(receivers.x_m), radius * np.cos(angle)).ravel()
    y = np.add.outer(np.array(receivers.y_m), radius * np.sin(angle)).ravel()
    return x, y, np.full(len(x), -receivers.pull_n / BORE_SPOKES)


def _pads(receivers: Receivers) -> tuple[Array, Array, Array, npt.NDArray[np.int64]]:
    """Each ring cut into 3 rings of 16 pieces; a point stands for its piece's area."""
    edges = np.linspace(receivers.inner_m, receivers.outer_m, RINGS + 1)
    radius = np.repeat(np.sqrt((edges[:-1] ** 2 + edges[1:] ** 2) / 2), SPOKES)
    area = np.repeat(np.pi * np.diff(edges**2) / SPOKES, SPOKES)
    angle = np.tile(2 * np.pi * (np.arange(SPOKES) + 0.5) / SPOKES, RINGS)
    x = np.add.outer(np.array(receivers.x_m), radius * np.cos(angle))
    y = np.add.outer(np.array(receivers.y_m), radius * np.sin(angle))
    count = len(receivers.x_m)
    pad = np.repeat(np.arange(count), RINGS * SPOKES)
    return x.ravel(), y.ravel(), np.tile(area, count), pad


def _base(extent_m: tuple[float, float]) -> tuple[Array, Array, Array]:
    """Middles of near-square cells, 18 along the longer side, at least 6 along the shorter."""
    size = max(extent_m) / BASE_CELLS
    along, across = (max(6, round(extent / size)) for extent in extent_m)
    x = (np.arange(along) + 0.5) * extent_m[0] / along
    y = (np.arange(across) + 0.5) * extent_m[1] / across
    grid_x, grid_y = np.meshgrid(x, y)
    area = extent_m[0] * extent_m[1] / (along * across)
    return grid_x.ravel(), grid_y.ravel(), np.full(grid_x.size, area)
