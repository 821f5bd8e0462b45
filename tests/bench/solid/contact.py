"""One-sided contact under the plate, by an active set on the flexibility of its points."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.sparse import csr_matrix

from tests.bench.solid.case import Pad
from tests.bench.solid.grid import Floats, Ints, values_at
from tests.bench.solid.loads import gauss, ring, under, upright
from tests.bench.solid.model import Model

STEPS = 40
COLUMNS = 400
UPRIGHT = [2, 3, 4]  # of the rigid motions: those that pads resist


@dataclass(frozen=True)
class Bed:
    """Contact points: `rows` gives their lift, `flexible` [points, points] their lift per N."""

    model: Model
    rows: csr_matrix
    flexible: Floats
    give_mm_n: Floats
    owner: Ints  # the pad a point belongs to; all 0 on a flat base


@dataclass(frozen=True)
class Rest:
    moved: Floats
    press_n: Floats
    steps: int
    balance_n: float


def bed(model: Model) -> Bed:
    case = model.case
    stiffness = [pad.stiffness_n_mm3 for pad in case.pads]
    places = [pad_points(pad) for pad in case.pads]
    if case.base_stiffness_n_mm3:
        stiffness, places = [case.base_stiffness_n_mm3], [base_points(model)]
    points = np.hstack([place for place, _ in places])
    rows = values_at(model.grid, points, upright(points.shape[1]))
    give = [1 / (k * area) for k, (_, area) in zip(stiffness, places, strict=True)]
    owner = np.repeat(np.arange(len(places)), [area.size for _, area in places])
    return Bed(model, rows, flexibility(model, rows), np.concatenate(give), owner)


def pad_points(pad: Pad, radial: int = 4, around: int = 24) -> tuple[Floats, Floats]:
    u, v, area = ring(pad.bore_mm / 2, pad.outer_mm / 2, radial, around)
    return under(pad, u, v), area


def base_points(model: Model, per_side: int = 2) -> tuple[Floats, Floats]:
    """Points and areas over the whole underside but the bores."""
    (x, dx), (y, dy) = (by_pieces(axis, per_side) for axis in model.grid.lines_mm[:2])
    xx, yy = (one.ravel() for one in np.meshgrid(x, y, indexing="ij"))
    area = np.outer(dx, dy).ravel()
    rests = np.ones(area.size, dtype=bool)
    for pad in model.case.pads:
        rests &= np.hypot(xx - pad.x_mm, yy - pad.y_mm) > pad.bore_mm / 2
    return np.vstack([xx, yy, np.zeros(xx.size)])[:, rests], area[rests]


def by_pieces(axis: Floats, per_side: int) -> tuple[Floats, Floats]:
    pieces = [gauss(low, high, per_side) for low, high in itertools.pairwise(axis)]
    return np.concatenate([at for at, _ in pieces]), np.concatenate([share for _, share in pieces])


def flexibility(model: Model, rows: csr_matrix) -> Floats:
    """A few columns at a time: the whole displacement field of each need not be kept."""
    found = np.zeros((rows.shape[0], rows.shape[0]))
    for begin in range(0, rows.shape[0], COLUMNS):
        some = slice(begin, begin + COLUMNS)
        found[:, some] = rows @ model.factor.solve(rows[some].T.toarray())
    return found


def settle(bed_: Bed, forces: Floats) -> Rest:
    """Rest of the plate on its pads under nodal forces [dofs] (pulls and weight among them)."""
    model = bed_.model
    loose = model.factor.solve(forces[:, None])[:, 0]
    lift = bed_.rows @ loose
    rigid = model.rigid[:, UPRIGHT]
    tilt = bed_.rows @ rigid
    load = rigid.T @ forces
    active = np.ones(lift.size, dtype=bool)
    for step in range(1, STEPS + 1):
        press, motion = pressed(bed_.flexible, bed_.give_mm_n, tilt, lift, load, active)
        gap = lift + bed_.flexible @ press + tilt @ motion
        now = np.where(active, press > 0, gap < 0)
        if (now == active).all():
            carried = (bed_.rows.T @ press)[:, None]
            moved = loose + model.factor.solve(carried)[:, 0] + rigid @ motion
            return Rest(moved, press, step, float(abs(press.sum() + load[0])))
        active = now
    raise ValueError(f"Contact not found in {STEPS} steps: look at the loads and the pads.")


def pressed(
    flexible: Floats,
    give: Floats,
    tilt: Floats,
    lift: Floats,
    load: Floats,
    active: npt.NDArray[np.bool_],
) -> tuple[Floats, Floats]:
    """Press of every point and the rigid motion, with the active points in contact."""
    on = np.flatnonzero(active)
    size = on.size
    matrix = np.zeros((size + 3, size + 3))
    matrix[:size, :size] = flexible[np.ix_(on, on)] + np.diag(give[on])
    matrix[:size, size:] = tilt[on]
    matrix[size:, :size] = tilt[on].T
    found = np.linalg.solve(matrix, np.concatenate([-lift[on], -load]))
    press = np.zeros(active.size)
    press[on] = found[:size]
    return press, found[size:]
