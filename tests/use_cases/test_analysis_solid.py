"""A design file, as its computation sees it, against solid models of the same plate.

Solid models: a plate 400 x 250 x 25 mm, 69 GPa, with three fused bars; faces of the bars pushed apart
10 mm up in four rows of two pairs. tests/bench/solid made the one read here; the numbers written
down are of a second, independent one.
"""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from api.domain.designs.reading import read_design
from api.mechanics.whole.loaded import Loaded, loaded
from api.paths import share
from api.use_cases.analysis.ground import ground_of
from api.use_cases.analysis.problem import assembly_of
from api.use_cases.demo.stores import demo_stores
from tests.mechanics import solid_cases
from tests.mechanics.plate_cases import Array
from tests.support.three_bars import three_bars

PAIRS, FORCE_N = 8, 10e3
E_RATIO = 68.9 / 69  # the file's alloy is a little softer


@pytest.fixture(scope="module")
def plate() -> Loaded:
    stores = demo_stores(share("seed_data"), dt.date(2026, 3, 2))
    design = read_design(three_bars(), "design.toml", stores).design
    assert design is not None
    return loaded(assembly_of(ground_of(design, stores)), 0.025)


def above_corners(plate: Loaded, at_m: Array) -> Array:
    """Heights over the best plane through the corners, 10 kN in every part."""
    solver = plate.solver
    w = plate.link_fields.sum(axis=1) * FORCE_N * E_RATIO
    corners = np.array([(x, y) for x in (0.0, 0.4) for y in (0.0, 0.25)])

    def level(places: Array) -> Array:
        return np.column_stack([np.ones(len(places)), places])

    at_corners, at_places = (solver.samples(*places.T).value @ w for places in (corners, at_m))
    plane = np.linalg.lstsq(level(corners), at_corners)[0]
    return np.asarray(at_places - level(at_m) @ plane)


def openings_mm_per_kn(plate: Loaded) -> Array:
    """Of every pair of faces, per force in every pair: two parts with a clamp between are one pair."""
    pairs = np.kron(np.eye(PAIRS), np.ones((2, 1)))
    return np.asarray(pairs.T @ plate.coupling_m_per_n @ pairs) * E_RATIO * 1e6


def test_the_free_bow_of_a_design_lies_within_1_percent_of_its_solid_model(plate: Loaded) -> None:
    case = solid_cases.solid("three-bars")
    free_m = case.found_m["free"]
    off_m = np.abs(above_corners(plate, case.at_m) - free_m).max()
    assert off_m <= 0.01 * np.abs(free_m).max()


def test_its_parts_open_each_other_within_4_percent_of_the_largest(plate: Loaded) -> None:
    expected = solid_cases.solid("three-bars").opening_m_per_n
    assert expected is not None
    others = ~np.eye(PAIRS, dtype=bool)
    off = np.abs(openings_mm_per_kn(plate) - expected * 1e6)[others]
    assert off.max() <= 0.04 * np.abs(expected * 1e6)[others].max()


# With the give of the bars at their roots; what is left is the dent of the faces themselves.
def test_a_pair_opens_itself_by_four_fifths_of_what_the_solid_gives(plate: Loaded) -> None:
    expected = solid_cases.solid("three-bars").opening_m_per_n
    assert expected is not None
    share = np.diag(openings_mm_per_kn(plate)) / (np.diag(expected) * 1e6)
    assert share == pytest.approx(np.full(PAIRS, 0.83), abs=0.03)


# Second model, mm per kN; pairs row by row, left then right; the two pairs of a row push one bar.
ONE_BAR = {(1, 0): -0.00164, (3, 2): -0.00139}
OTHER_ROWS = {
    (2, 0): 0.00394,
    (3, 1): 0.00445,
    (4, 0): 0.00251,
    (5, 1): 0.00296,
    (4, 1): 0.00040,
    (4, 2): 0.00355,
    (5, 3): 0.00403,
    (6, 0): 0.00184,
    (7, 1): 0.00224,
    (6, 1): 0.00052,
}


def test_pairs_that_push_one_bar_from_both_sides_close_each_other(plate: Loaded) -> None:
    found, largest = openings_mm_per_kn(plate), max(OTHER_ROWS.values())
    for (i, j), expected in ONE_BAR.items():
        assert found[i, j] == pytest.approx(expected, abs=0.15 * largest)
        assert found[i, j] < 0


def test_pairs_of_different_rows_open_each_other_as_in_the_second_model(plate: Loaded) -> None:
    found, largest = openings_mm_per_kn(plate), max(OTHER_ROWS.values())
    for (i, j), expected in OTHER_ROWS.items():
        assert found[i, j] == pytest.approx(expected, abs=0.04 * largest)
