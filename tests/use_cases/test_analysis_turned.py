"""A design turned on the table is the same design: every figure of its computation must turn with it."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from api.domain.analyses.guide import Analysis, Guide
from api.domain.analyses.result import Result
from tests.use_cases.analysis_cases import Document, analysed, seeded, turned

CLOSE = 1e-5


def pocketed() -> Document:
    """Blocks on pads, tightened free, with a pocket and three more points."""
    found = seeded("SAD-20-A")
    found["plate"]["pocket"] = [
        {"corner": ["180 mm", "100 mm"], "size": ["40 mm", "50 mm"], "depth": "6 mm"}
    ]
    for number, at in enumerate((["20 mm", "20 mm"], ["440 mm", "150 mm"], ["240 mm", "290 mm"])):
        found["point"].append(dict(found["point"][0], id=f"B{number}", at=at, limit="2 mm"))
    return found


def barred() -> Document:
    """Round bar under leaning stops on a flat base; the order is kept, not searched."""
    found = seeded("CLR-08-A")
    found["tightening"]["order"] = [clamp["id"] for clamp in found["clamp"]]
    return found


MAKES = {"blocks on pads": pocketed, "round bar on a base": barred}


@cache
def pair(name: str) -> tuple[Analysis, Analysis]:
    found = MAKES[name]()
    return analysed(found), analysed(turned(found))


@pytest.fixture(params=MAKES)
def results(request: pytest.FixtureRequest) -> tuple[Result, Result]:
    one, other = pair(request.param)
    return one.result, other.result


Results = tuple[Result, Result]


def test_they_are_computed_and_not_refused(results: Results) -> None:
    assert all(result.solver is not None and result.map is not None for result in results)


def test_every_clamp_keeps_its_forces_and_limits(results: Results) -> None:
    one, other = results
    for name, clamp in one.clamps.items():
        same = other.clamps[name]
        assert same.after_pass_n == pytest.approx(clamp.after_pass_n, rel=CLOSE)
        assert same.after_lock_n == pytest.approx(clamp.after_lock_n, rel=CLOSE)
        assert same.side_n.model_dump() == pytest.approx(clamp.side_n.model_dump(), rel=1e-9)
        assert (same.limit_nm, same.limited_by) == (clamp.limit_nm, clamp.limited_by)


def test_every_point_keeps_its_heights_and_its_expected_reading(results: Results) -> None:
    one, other = results
    for name, point in one.points.items():
        same = other.points[name]
        assert same.state_um == pytest.approx(point.state_um, rel=CLOSE, abs=1e-4)
        band = point.reading_um.model_dump()
        assert same.reading_um.model_dump() == pytest.approx(band, rel=CLOSE, abs=1e-3)
        assert same.verdict == point.verdict


def test_every_part_keeps_its_seat_and_its_tilt_turns_with_the_plate(results: Results) -> None:
    one, other = results
    for name, station in one.stations.items():
        same = other.stations[name]
        for figure in ("lift_um", "thickness_um", "parallelism_um", "flatness_um"):
            expected = getattr(station, figure)
            assert getattr(same, figure) == pytest.approx(expected, rel=CLOSE, abs=1e-4)
        tilt = (-station.tilt_y_urad, station.tilt_x_urad)
        assert (same.tilt_x_urad, same.tilt_y_urad) == pytest.approx(tilt, rel=CLOSE, abs=1e-3)


def test_every_part_is_held_as_well_and_lets_go_in_the_same_way(results: Results) -> None:
    one, other = results
    for name, station in one.stations.items():
        same = other.stations[name]
        for mode, multiple in station.hold.model_dump().items():
            expected = None if multiple is None else pytest.approx(multiple, rel=1e-4)
            assert getattr(same.hold, mode) == expected
        assert (same.worst, same.cut) == (station.worst, station.cut)


def test_the_map_of_every_state_turns(results: Results) -> None:
    one, other = (result.map for result in results)
    assert one is not None
    assert other is not None
    width_mm = one.y_mm[-1]
    assert other.y_mm == one.x_mm
    assert other.x_mm == pytest.approx([width_mm - y for y in reversed(one.y_mm)], abs=1e-3)
    for state, heights in one.w_um.items():
        upright = np.array(heights)[::-1].T
        assert np.abs(np.array(other.w_um[state]) - upright).max() <= 0.0101


def test_passes_pulls_movers_mass_and_times_stay(results: Results) -> None:
    one, other = results
    for figure in ("order", "passes", "pulls", "movers_expected", "time", "assumed", "cautions"):
        assert getattr(other, figure) == getattr(one, figure)
    assert other.mass_kg == pytest.approx(one.mass_kg)


def test_the_same_things_are_found(results: Results) -> None:
    one, other = ([(c.level, c.code) for c in result.checks] for result in results)
    assert other == one


@pytest.mark.parametrize("name", MAKES)
def test_the_guide_of_the_bench_stays(name: str) -> None:
    one, other = (analysis.guide for analysis in pair(name))
    assert one is not None
    assert other is not None
    tables = ("target_n", "flexibility_um_per_n", "bow_um_per_n", "start_um")
    for table in tables:
        expected = np.array(getattr(one, table))
        slack = 1e-5 * np.abs(expected).max() + 1e-3 * (table == "start_um")
        assert np.abs(np.array(getattr(other, table)) - expected).max() <= slack
    for plain in set(Guide.model_fields) - {*tables, "expected_um"}:
        assert getattr(other, plain) == getattr(one, plain)
