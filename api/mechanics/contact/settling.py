"""One-sided equilibrium: forces that can only push, and gaps that can only open."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.linalg import LinAlgError, cholesky, lstsq, solve_triangular
from scipy.optimize import nnls

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]
MOST_STEPS = 300
BOLD_STEPS = 8
WARM_STEPS = 6
TOLERANCE = 1e-6
HEAVY = 1e4
SINGULAR = 1e-9


class NoEquilibrium(ValueError):
    """Nothing that only pushes can balance these loads."""


@dataclass(frozen=True)
class Settled:
    """Pushing forces (n,), the rigid motion (3,), which of them push, and the steps it took."""

    force_n: Array
    rigid: Array
    pushing: Mask
    steps: int


def settle(
    flexibility: Array, gap_m: Array, rigid: Array, load: Array, guess: Mask | None = None
) -> Settled:
    """Forces x >= 0 with gaps g = Q x + c + R a >= 0, x g = 0 and R' x + e = 0.

    `flexibility` Q (n, n), symmetric positive definite, m/N: own springs on the diagonal included;
    `gap_m` c (n,): gaps without any of the forces; `rigid` R (n, 3): gap opened by each rigid motion;
    `load` e (3,): resultants of everything else on those motions. The same conditions as those of
    min 1/2 x'Q x + c'x with R'x = -e, found by non-negative least squares (Lawson and Hanson) with
    the balance as heavy rows, then made exact on the set of pushing forces it leaves. A force within
    1e-6 of the largest counts as none, so a plate that just balances on two points settles; it is
    kept as it is, and the balance with it. What can still turn on them stands midway in its room.
    `guess` (n,) is a set that may push, from a state alike: where a few steps lead from it to one that
    fulfils the conditions, nothing else is tried.

    Raises NoEquilibrium where no x >= 0 balances the load.
    """
    problem = (flexibility, gap_m, rigid, load)
    if guess is not None:
        found = _pursued(*problem, guess, WARM_STEPS)
        if found is not None and _imbalance(rigid, load, found.force_n) < TOLERANCE:
            return found
    found = _pursued(*problem, _first_guess(*problem), MOST_STEPS)
    if found is None:
        raise NoEquilibrium(
            "The contact did not settle: the plate is close to losing its hold. Pull harder, or give "
            "the receivers more room between them."
        )
    return found


def _pursued(
    flexibility: Array, gap_m: Array, rigid: Array, load: Array, pushing: Mask, most: int
) -> Settled | None:
    """Forces set free that pull, gaps closed that overlap, until none is left or `most` steps are done."""
    for step in range(1, most + 1):
        if not pushing.any():
            return None
        force, motion = _exact(flexibility, gap_m, rigid, load, pushing)
        gap = flexibility @ force + gap_m + rigid @ motion
        turn = _free_turn(rigid[pushing])
        if turn is not None:
            motion = motion + turn * _midway(gap[~pushing], (rigid @ turn)[~pushing])
            gap = flexibility @ force + gap_m + rigid @ motion
        pulls = pushing & (force < -TOLERANCE * np.abs(force).max(initial=1.0))
        opens = ~pushing & (gap < -TOLERANCE * np.abs(gap).max(initial=1e-9))
        if not (pulls.any() or opens.any()):
            return Settled(force, motion, pushing, step)
        pushing = _next(pushing, pulls, opens, force, gap, careful=step > BOLD_STEPS)
    return None


def _imbalance(rigid: Array, load: Array, force: Array) -> float:
    """What is left of the resultants, relative to the load; turns count by the arm of the forces."""
    weight = np.array([1.0, *(1 / np.abs(rigid[:, 1:]).max(axis=0, initial=1e-3))])
    missing = np.abs(weight * (rigid.T @ force + load)).max()
    return float(missing / max(np.abs(weight * load).max(), 1e-9))


def _first_guess(flexibility: Array, gap_m: Array, rigid: Array, load: Array) -> Mask:
    scale = np.sqrt(np.trace(flexibility) / len(flexibility))
    lower = cholesky(flexibility, lower=True) / scale
    weight = np.array([1.0, *(1 / np.abs(rigid[:, 1:]).max(axis=0, initial=1e-3))])
    heavy = HEAVY * weight[:, None]
    rows = np.vstack([lower.T, heavy * rigid.T])
    aims = np.concatenate(
        [-solve_triangular(lower, gap_m, lower=True) / scale**2, -heavy[:, 0] * load]
    )
    force, _ = nnls(rows, aims, maxiter=30 * len(gap_m))
    missing = np.abs(weight * (rigid.T @ force + load)).max()
    wanted = np.abs(weight * load).max()
    if missing > 0.02 * wanted + 1e-9:
        raise NoEquilibrium(
            "The plate tips: its weight and the pull of the studs do not fall within what it rests on. "
            "Spread the receivers so that the plate's middle lies between them."
        )
    return np.asarray(force > 0)


def _exact(
    flexibility: Array, gap_m: Array, rigid: Array, load: Array, pushing: Mask
) -> tuple[Array, Array]:
    """Forces and rigid motion with the pushing gaps closed exactly."""
    on = np.flatnonzero(pushing)
    count = len(on)
    system = np.zeros((count + 3, count + 3))
    system[:count, :count] = flexibility[np.ix_(on, on)]
    system[:count, count:], system[count:, :count] = rigid[on], rigid[on].T
    scale = np.concatenate(
        [np.full(count, 1 / np.sqrt(np.abs(np.diag(system)[:count]).mean())), np.ones(3)]
    )
    scale[count:] = 1 / (
        scale[0] * np.maximum(np.abs(system[:count, count:]).max(axis=0, initial=0), 1e-6)
    )
    wanted = -np.concatenate([gap_m[on], load]) * scale
    balanced = system * scale[:, None] * scale
    found = _solved(balanced, wanted, singular=_free_turn(rigid[on]) is not None) * scale
    force = np.zeros(len(gap_m))
    force[on] = found[:count]
    return force, np.asarray(found[count:])


def _solved(system: Array, wanted: Array, *, singular: bool) -> Array:
    if not singular:
        try:
            return np.asarray(np.linalg.solve(system, wanted))
        except LinAlgError:
            pass
    return np.asarray(lstsq(system, wanted, cond=SINGULAR)[0])


def _free_turn(rigid: Array) -> Array | None:
    """The rigid motion that opens none of these gaps, if there is one: those on one line turn on it."""
    if not len(rigid):
        return None
    size = np.maximum(np.abs(rigid).max(axis=0), 1e-6)
    _, strength, motions = np.linalg.svd(np.linalg.qr(rigid / size, mode="r"))
    if len(strength) == 3 and strength[2] > SINGULAR * strength[0]:
        return None
    return np.asarray(motions[-1] / size)


def _midway(gap: Array, opening: Array) -> float:
    """How much of a turn stands in the middle of its room: gap + t opening >= 0 on either side."""
    with np.errstate(divide="ignore", invalid="ignore"):
        ends = -gap / opening
    low = ends[opening > 0].max(initial=-np.inf)
    high = ends[opening < 0].min(initial=np.inf)
    return float(low + high) / 2 if np.isfinite(low) and np.isfinite(high) else 0.0


def _next(
    pushing: Mask, pulls: Mask, opens: Mask, force: Array, gap: Array, *, careful: bool
) -> Mask:
    """All wrong ones change sides; only the worst one where that did not lead to the end soon."""
    if not careful:
        return (pushing & ~pulls) | opens
    changed = pushing.copy()
    worst_pull = np.where(pulls, force, 0.0) / np.abs(force).max(initial=1.0)
    worst_gap = np.where(opens, gap, 0.0) / np.abs(gap).max(initial=1e-9)
    k = int(np.argmin(np.minimum(worst_pull, worst_gap)))
    changed[k] = not changed[k]
    return changed
