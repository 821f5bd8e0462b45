"""The largest multiple of a load that friction contacts can hold, as a linear programme."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import OptimizeResult, linprog

from api.mechanics.grip.cones import (
    WRENCH,
    Cones,
    Wrench,
    scaled,
)
from api.mechanics.grip.contacts import GripError

Array = npt.NDArray[np.float64]

UNBOUNDED = 3
UNCLEAR = 4  # presolve found the programme unbounded or infeasible and did not say which
NOT_HELD = (
    "The contacts cannot hold the piece even without a load: the faces squeeze it out, or nothing"
    " carries its weight."
)


@dataclass(frozen=True)
class Margin:
    """How often the load fits in.

    multiple: infinity if no size of the load moves the piece, 0 if it is not held at rest.
    forces_n (n, 3): contact forces at that multiple; motion (6,): the velocity and the rotation
    with which the piece starts to move there, largest entry 1 (rotation times the grip's size).
    Both are None where the multiple is 0 at rest or infinite. reason: said when not held at rest.
    """

    multiple: float
    forces_n: Array | None = None
    motion: Array | None = None
    reason: str | None = None


def rest_vector(cones: Cones, side_n: float, weight: Wrench) -> Array:
    """What the generators must add up to without a load: (7,)."""
    if not side_n >= 0:
        raise GripError("The push of the pressed contacts cannot be negative.")
    vector = -scaled(cones, weight)
    vector[WRENCH] = side_n
    return vector


def holds_at_rest(cones: Cones, at_rest: Array) -> bool:
    """Whether the contacts balance weight and push alone."""
    size = float(np.linalg.norm(at_rest)) or 1.0
    found = _solve(cones.columns, at_rest / size, np.zeros(cones.columns.shape[1]))
    return bool(found.status == 0)


def multiple_from_rest(cones: Cones, at_rest: Array, load: Array) -> Margin:
    """The programme for one load on a piece that is held at rest."""
    size = float(np.linalg.norm(at_rest)) or 1.0
    load_size = float(np.linalg.norm(load))
    if not load_size:
        return Margin(np.inf)
    columns = np.column_stack([cones.columns, load / load_size])
    cost = np.zeros(columns.shape[1])
    cost[-1] = -1.0
    found = _solve(columns, at_rest / size, cost)
    if found.status == UNBOUNDED:
        return Margin(np.inf)
    if found.status != 0:
        raise GripError(f"The grip could not be computed: {found.message}")
    shares = _polished(columns, at_rest / size, np.asarray(found.x))
    return Margin(
        multiple=float(shares[-1]) * size / load_size,
        forces_n=_contact_forces(cones, shares[:-1] * size),
        motion=_motion(np.asarray(found.eqlin.marginals)),
    )


def _solve(columns: Array, total: Array, cost: Array) -> OptimizeResult:
    found = linprog(cost, A_eq=columns, b_eq=total, method="highs-ds")
    if found.status == UNCLEAR:
        found = linprog(
            cost, A_eq=columns, b_eq=total, method="highs-ds", options={"presolve": False}
        )
    return found


def _polished(columns: Array, total: Array, shares: Array) -> Array:
    """Solve the balance again over the columns in use: from solver tolerance to rounding."""
    used = np.flatnonzero(shares > 1e-12)
    exact = np.array(shares)
    missing = total - columns @ shares
    exact[used] += np.linalg.lstsq(columns[:, used], missing, rcond=None)[0]
    return exact


def _contact_forces(cones: Cones, shares: Array) -> Array:
    parts = (cones.columns[:3] * shares).reshape(3, -1, cones.sides)
    return np.asarray(parts.sum(axis=2).T, dtype=np.float64)


def _motion(duals: Array) -> Array | None:
    twist = duals[:WRENCH]
    largest = float(np.abs(twist).max())
    return twist / largest if largest else None
