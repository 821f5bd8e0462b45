"""The plate model against solid models: what a thin plate with bars leaves out, in numbers.

tests/bench/solid made the vectors (quadratic bricks, one-sided contact). A second, independent solid
model of a plate 400 x 250 x 25 mm with three bars is copied below with its own numbers.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from api.mechanics.plate.solving import PlateSolver, solver_of
from tests.mechanics import solid_cases as solids
from tests.mechanics.plate_cases import Array

TOLERANCE = dict.fromkeys(solids.NAMES, 0.05) | {"bare-slanted": 0.06}
LOCKED = [name for name in solids.NAMES if "locked" in solids.solid(name).found_m]
PAIRS = [name for name in solids.NAMES if len(solids.solid(name).pushes) > 2]
FREE_BOW_M = float(np.abs(solids.solid("three-bars").found_m["free"]).max())


def free_bow_m(case: solids.Solid) -> float:
    return float(np.abs(case.found_m["free"]).max()) if "free" in case.found_m else FREE_BOW_M


def test_there_are_eight_solid_models_of_which_five_are_held_down() -> None:
    assert len(solids.NAMES) == 8
    assert len(LOCKED) == 5


@pytest.mark.parametrize("name", solids.NAMES)
def test_every_point_of_a_free_plate_lies_within_a_twentieth_of_its_bow(name: str) -> None:
    case = solids.solid(name)
    off_m = np.abs(solids.free_m(case) - case.found_m["free"]).max()
    assert off_m <= TOLERANCE[name] * free_bow_m(case)


@pytest.mark.parametrize("name", solids.NAMES)
def test_a_grid_of_half_the_spacing_hardly_moves_a_point(name: str) -> None:
    case = solids.solid(name)
    change_m = np.abs(solids.free_m(case) - solids.free_m(case, 0.0125)).max()
    assert change_m <= 0.004 * free_bow_m(case)


@pytest.mark.parametrize("name", LOCKED)
@pytest.mark.parametrize("state", ["locked", "locked and pushed"])
def test_every_point_of_a_plate_pulled_down_lies_within_7_percent_of_its_free_bow(
    name: str, state: str
) -> None:
    case = solids.solid(name)
    found_m, settled = solids.locked_m(case, pushed=state == "locked and pushed")
    assert np.abs(found_m - case.found_m[state]).max() <= 0.07 * free_bow_m(case)
    assert settled.force_n.min() >= -1e-6 * settled.force_n.max()


@pytest.mark.parametrize("name", PAIRS)
def test_what_one_pair_opens_at_another_lies_within_15_percent_of_the_largest(name: str) -> None:
    case = solids.solid(name)
    assert case.opening_m_per_n is not None
    others = ~np.eye(len(case.opening_m_per_n), dtype=bool)
    off = np.abs(solids.openings_m_per_n(case) - case.opening_m_per_n)[others]
    assert off.max() <= 0.15 * np.abs(case.opening_m_per_n[others]).max()


# Their diagonal holds the local give of the faces, which a plate has not.
@pytest.mark.parametrize("name", PAIRS)
def test_a_pair_opens_itself_by_less_than_in_the_solid(name: str) -> None:
    case = solids.solid(name)
    assert case.opening_m_per_n is not None
    share = np.diag(solids.openings_m_per_n(case)) / np.diag(case.opening_m_per_n)
    assert share.max() < 1
    assert share.min() > 0.55


# A solid model of a plate 400 x 250 x 25 mm, 69 GPa, nu 0.33, with three fused bars 20 mm wide and
# 20 mm high at x = 20, 180 and 360 mm, y = 20 to 230 mm; faces pushed apart at x = 40 | 180 and
# 200 | 360 mm, 10 mm up, 10 kN each, in rows y = 50, 100, 150 and 200 mm. Quadratic bricks of about
# 10 mm. Free heights are relative to the mean of the four corners; um.
FREE_UM = {(200, 125): 683.0, (200, 0): 726.1, (110, 125): 536.7, (0, 125): -46.2}
Place = tuple[int, int]
Supports = tuple[Place, Place, Place, Place]
ON_POINTS_UM: dict[Supports, dict[Place, float]] = {  # on four points of its underside
    ((50, 50), (350, 50), (50, 200), (350, 200)): {
        (200, 125): 402.6,
        (0, 125): -326.4,
        (0, 0): -280.2,
        (200, 0): 445.7,
        (110, 125): 256.4,
    },
    ((100, 60), (300, 60), (100, 190), (300, 190)): {
        (200, 125): 173.2,
        (0, 125): -555.1,
        (0, 0): -508.9,
        (200, 0): 216.3,
        (110, 125): 27.3,
    },
}
# On pads 40/20 mm of 2377 N/mm per mm2 at the second four points, 15 kN pull each, with weight.
PADS_OFF_UM = {
    (200, 125): -6.6,
    (0, 125): -4.1,
    (0, 0): -3.6,
    (200, 0): -6.0,
    (110, 125): -6.7,
}
PADS_ON_UM = {
    (200, 125): 86.6,
    (0, 125): -361.7,
    (0, 0): -323.9,
    (200, 0): 102.2,
    (110, 125): 20.0,
}
# Opening of pair i per kN in pairs 1 to 4, mm; pairs row by row, left then right; without those of a
# pair itself.
OPENING_MM_PER_KN = np.array(
    [
        [np.nan, -0.00164, 0.00394, -1e-05],
        [-0.00164, np.nan, -1e-05, 0.00445],
        [0.00394, -1e-05, np.nan, -0.00139],
        [-1e-05, 0.00445, -0.00139, np.nan],
        [0.00251, 0.0004, 0.00355, 6e-05],
        [0.0004, 0.00296, 6e-05, 0.00403],
        [0.00184, 0.00052, 0.00251, 0.0004],
        [0.00052, 0.00224, 0.0004, 0.00296],
    ]
)
Places = dict[Place, float]


@cache
def pushed() -> tuple[PlateSolver, Array]:
    """The plate with its loads."""
    case = solids.solid("three-bars")
    solver = solver_of(case.shape, 0.025)
    return solver, np.asarray(solver.push_loads(case.pushes)[0] @ case.force_n)


def heights_um(solver: PlateSolver, w: Array, at_mm: list[tuple[int, int]]) -> Array:
    return np.asarray(solver.samples(*(np.array(at_mm).T / 1e3)).value @ w) * 1e6


def test_the_free_plate_lies_within_1_percent_of_the_other_solid_model() -> None:
    solver, loads = pushed()
    w = solver.deflections(loads[:, None])[:, 0]
    found = heights_um(solver, w, list(FREE_UM))
    corners = heights_um(solver, w, [(0, 0), (400, 0), (0, 250), (400, 250)])
    assert found - corners.mean() == pytest.approx(list(FREE_UM.values()), abs=0.01 * 683.0)


@pytest.mark.parametrize("supports", ON_POINTS_UM)
def test_on_four_points_it_lies_within_0_7_percent_of_its_free_bow(
    supports: Supports,
) -> None:
    solver, loads = pushed()
    below = solver.press_loads(*(np.array(supports).T / 1e3))
    fields = solver.deflections(np.column_stack([loads, below]))
    motions = below.T @ solver.rigid
    bordered = np.block([[below.T @ fields[:, 1:], motions], [motions.T, np.zeros((3, 3))]])
    wanted = -np.concatenate([below.T @ fields[:, 0], solver.rigid.T @ loads])
    found = np.linalg.lstsq(bordered, wanted)[0]
    w = fields[:, 0] + fields[:, 1:] @ found[:4] + solver.rigid @ found[4:]
    expected = ON_POINTS_UM[supports]
    assert heights_um(solver, w, list(expected)) == pytest.approx(
        list(expected.values()), abs=0.007 * 683.0
    )


def test_on_pads_its_middle_rises_within_20_percent_of_the_other_solid_model() -> None:
    rise = on_pads_um(PADS_ON_UM, pushed=True) - on_pads_um(PADS_OFF_UM, pushed=False)
    expected = PADS_ON_UM[200, 125] - PADS_OFF_UM[200, 125]
    assert rise[0] == pytest.approx(expected, rel=0.20)


@pytest.mark.parametrize(("places", "pushed_too"), [(PADS_OFF_UM, False), (PADS_ON_UM, True)])
def test_on_pads_every_point_lies_within_8_percent_of_its_free_bow(
    places: Places, pushed_too: bool
) -> None:
    expected = list(places.values())
    assert on_pads_um(places, pushed=pushed_too) == pytest.approx(expected, abs=0.08 * 683.0)


def on_pads_um(places: Places, *, pushed: bool) -> Array:
    case = solids.solid("three-bars")
    found_m, _ = solids.locked_m(case, pushed=pushed)
    at_mm = [(round(x), round(y)) for x, y in (case.at_m * 1e3).tolist()]
    return np.array([found_m[at_mm.index(place)] for place in places]) * 1e6


# Two faces of one bar at one place also bend that bar at its root, which is no part of the plate.
def test_pairs_of_different_rows_open_each_other_within_4_percent_of_the_largest() -> None:
    found = solids.openings_m_per_n(solids.solid("three-bars"))[:, :4] * 1e6
    row, column = np.indices(OPENING_MM_PER_KN.shape) // 2
    apart = row != column
    largest = np.abs(OPENING_MM_PER_KN[apart]).max()
    assert np.abs(found - OPENING_MM_PER_KN)[apart].max() <= 0.04 * largest
