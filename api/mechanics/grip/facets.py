"""The facets of what contacts can hold: every load judged at once, for any push and weight."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import linprog
from scipy.spatial import ConvexHull, QhullError

from api.mechanics.grip.cones import (
    MOMENT_ROWS,
    ROWS,
    SIDES,
    Cones,
    friction_cones,
    without_turning,
)
from api.mechanics.grip.contacts import Contacts

Array = npt.NDArray[np.float64]

SAME_DIGITS = 10
POINTED = 1e-6
MOST_COLUMNS = 600  # beyond it the hull has too many facets to be worth it


@dataclass(frozen=True)
class Facetted:
    """Cones with their facets (k, 7): a column x can be held when facets @ x >= 0.

    facets is None if the cone has none: contacts that jam against one another, or that resist
    nothing at all in some direction.
    """

    cones: Cones
    facets: Array | None


@dataclass(frozen=True)
class Holdable:
    """All of a grip that does not depend on push, weight and load: whole, and forces only."""

    whole: Facetted
    forces: Facetted


def holdable(contacts: Contacts, sides: int = SIDES) -> Holdable:
    """Facets of a grip, for reuse: computed in some 50 ms, used in about one."""
    cones = friction_cones(contacts, sides)
    return Holdable(_facetted(cones), _facetted(without_turning(cones)))


def _facetted(cones: Cones) -> Facetted:
    rows = [row for row in range(ROWS) if cones.turns or row not in MOMENT_ROWS]
    facets = cone_facets(cones.columns[rows])
    if facets is None:
        return Facetted(cones, None)
    padded = np.zeros((len(facets), ROWS))
    padded[:, rows] = facets
    return Facetted(cones, padded)


def cone_facets(columns: Array) -> Array | None:
    """Inner facet normals (k, d), unit length, of the cone spanned by columns (d, n).

    The cone is cut by a plane that all its rays cross, and the section's convex hull (Qhull)
    gives one facet of the cone per facet of the section.
    None if the cone is flat, contains a line, or has too many rays.
    """
    if columns.shape[1] > MOST_COLUMNS:
        return None
    rays = columns / np.linalg.norm(columns, axis=0)
    axis = _inner_axis(rays)
    if axis is None:
        return None
    across = np.linalg.svd(axis[None, :])[2][1:]
    section = (across @ (rays / (axis @ rays))).T
    try:
        hull = ConvexHull(section)
    except QhullError:
        return None
    facets = -(hull.equations[:, :-1] @ across + np.outer(hull.equations[:, -1], axis))
    facets /= np.linalg.norm(facets, axis=1, keepdims=True)
    kept = np.unique(facets.round(SAME_DIGITS), axis=0, return_index=True)[1]
    return np.asarray(facets[kept], dtype=np.float64)


def _inner_axis(rays: Array) -> Array | None:
    """The unit vector with the largest least component along all rays; None if there is none."""
    rows, count = rays.shape
    cost = np.zeros(rows + 1)
    cost[-1] = -1.0
    found = linprog(
        cost,
        A_ub=np.column_stack([-rays.T, np.ones(count)]),
        b_ub=np.zeros(count),
        bounds=[*[(-1.0, 1.0)] * rows, (None, 1.0)],
    )
    if found.status != 0:
        return None
    solution = np.asarray(found.x, dtype=np.float64)
    if solution[-1] < POINTED:
        return None
    return np.asarray(solution[:-1] / np.linalg.norm(solution[:-1]), dtype=np.float64)
