"""Margins of a grip against a tool's load: slip, lift and tip, and the worst of them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import isclose, isinf
from typing import Literal

import numpy as np
import numpy.typing as npt

from api.mechanics.grip.cones import MOMENT_ROWS, Wrench
from api.mechanics.grip.contacts import GripError, Vector
from api.mechanics.grip.facets import Facetted, Holdable
from api.mechanics.grip.programme import (
    NOT_HELD,
    Margin,
    holds_at_rest,
    multiple_from_rest,
    rest_vector,
)
from api.mechanics.grip.tool_load import (
    ToolLoad,
    Worst,
    load_column,
    worst_by_facets,
    worst_by_programme,
)

Array = npt.NDArray[np.float64]
Mode = Literal["slip", "lift", "tip", "turn"]

ALIKE = 1.05
OUTSIDE = -1e-7  # how far beyond a facet, relative to the load at rest, counts as not held
AGREEMENT = 1e-6


@dataclass(frozen=True)
class Margins:
    """How often a tool's load fits into a grip; infinite if no size of it moves the piece.

    slip: forces only, as if the piece could not turn; lift: the upward force alone, where it
    acts; tip: the whole load where it acts; overall: the least of the three.
    mode: slip or lift if that alone gives the overall margin within 5 %; else turn if the piece
    starts by spinning about an upright axis, else tip; None if nothing moves it or nothing
    holds it. worst: the case that gives the overall margin; forces_n (n, 3): contact forces then.
    reason: said if the piece is not held even without a load.
    """

    slip: float
    lift: float
    tip: float
    overall: float
    mode: Mode | None = None
    worst: Worst | None = None
    forces_n: Array | None = None
    reason: str | None = None


def margins(
    hold: Holdable, side_n: float, weight: Wrench, load: ToolLoad, positions_m: Sequence[Vector]
) -> Margins:
    """Margins of a grip at the worst position of the tool and the worst direction of its force.

    The level force is taken in every direction (worst_by_facets), and the case that decides is
    solved again as a linear programme; should the two differ, or the grip have no facets, all
    cases go through linear programmes (worst_by_programme). The reciprocal of the margin
    is convex in the load, so a position between others is never worse than the worst of them:
    the corners of the region where the tool works are enough.
    Raises GripError without a position or for a negative push.
    """
    if not positions_m:
        raise GripError("Give at least one position of the tool.")
    at_rest = rest_vector(hold.whole.cones, side_n, weight)
    if not _held_at_rest(hold.whole, at_rest):
        return Margins(0.0, 0.0, 0.0, 0.0, reason=NOT_HELD)
    fixed = rest_vector(hold.forces.cones, side_n, weight)
    slip = _least(hold.forces, fixed, load, positions_m[:1])
    lift = _least(hold.whole, at_rest, load.lifting(), positions_m)
    tip = _least(hold.whole, at_rest, load, positions_m)
    worst = min((tip, lift), key=lambda found: found.multiple)
    multiples = (slip.multiple, lift.multiple, tip.multiple)
    overall = min(multiples)
    if isinf(overall):
        return Margins(*multiples, overall)
    cones = hold.whole.cones
    margin = multiple_from_rest(cones, at_rest, load_column(cones, worst))
    if hold.whole.facets is not None and not _agree(margin.multiple, worst.multiple):
        return margins(_programmes_only(hold), side_n, weight, load, positions_m)
    mode = _mode(slip.multiple, lift.multiple, overall, margin)
    return Margins(*multiples, overall, mode, worst, margin.forces_n)


def _held_at_rest(grip: Facetted, at_rest: Array) -> bool:
    if grip.facets is None:
        return holds_at_rest(grip.cones, at_rest)
    return bool((grip.facets @ at_rest).min() >= OUTSIDE * np.linalg.norm(at_rest))


def _least(grip: Facetted, at_rest: Array, load: ToolLoad, positions_m: Sequence[Vector]) -> Worst:
    if grip.facets is None:
        return worst_by_programme(grip.cones, at_rest, load, positions_m)
    return worst_by_facets(grip.cones, grip.facets, at_rest, load, positions_m)


def _agree(by_programme: float, by_facets: float) -> bool:
    return isclose(by_programme, by_facets, rel_tol=AGREEMENT, abs_tol=AGREEMENT)


def _programmes_only(hold: Holdable) -> Holdable:
    return Holdable(replace(hold.whole, facets=None), replace(hold.forces, facets=None))


def _mode(slip: float, lift: float, overall: float, margin: Margin) -> Mode:
    if slip <= ALIKE * overall:
        return "slip"
    if lift <= ALIKE * overall:
        return "lift"
    if margin.motion is None:
        return "tip"
    about_x, about_y, about_z = np.abs(margin.motion[list(MOMENT_ROWS)])
    return "turn" if about_z > np.hypot(about_x, about_y) else "tip"
