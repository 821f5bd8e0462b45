"""What shows only over many setups of the demonstration shop: creep, care by count, pace."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from statistics import linear_regression, mean, median

import pytest

from api.domain.records import PointReading
from api.use_cases.shop import shop_data
from tests.use_cases.demo_shop import DemoShop, empty_shop
from tests.use_cases.known_points import COMPUTED_UM

SETUPS = 130
CREEP_MM = 0.0005
LIMIT_MM = 0.05


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DemoShop]:
    folder: Path = tmp_path_factory.mktemp("history")
    made = empty_shop(f"sqlite:///{folder / 'demo.sqlite3'}", folder / "keys")
    made.fill(SETUPS)
    yield made
    made.database.close()


def test_reading_a_of_one_plate_creeps_by_half_a_micrometre_per_setup(demo: DemoShop) -> None:
    slope, values = _trend(demo, "SAD-20-003")
    assert len(values) > 45
    assert slope == pytest.approx(CREEP_MM, rel=0.2)
    assert median(values[-10:]) > median(values[:10]) + 0.015


def test_reading_a_of_its_sister_plate_stays_where_it_is(demo: DemoShop) -> None:
    slope, _ = _trend(demo, "SAD-20-001")
    assert abs(slope) < CREEP_MM / 3


@pytest.mark.parametrize(
    ("plate", "point", "state"),
    [
        ("SAD-20-001", "A", "torqued locked"),
        ("CLR-08-001", "A", "torqued locked"),
        ("CLR-08-001", "B", "torqued free"),
    ],
)
def test_readings_of_a_steady_plate_agree_with_what_its_design_lets_expect(
    demo: DemoShop, plate: str, point: str, state: str
) -> None:
    inside = [_inside(one) for one in _finals(demo, plate, point, state)]
    assert len(inside) > 30
    assert mean(inside) > 0.85


def test_the_creeping_plate_leaves_the_band_it_began_in(demo: DemoShop) -> None:
    finals = _finals(demo, "SAD-20-003", "A", "torqued locked")
    inside = [_inside(one) for one in finals]
    assert mean(inside[:10]) > 0.7
    assert mean(inside[-10:]) < 0.3


def test_a_free_plate_does_not_creep_with_its_pads(demo: DemoShop) -> None:
    finals = _finals(demo, "SAD-20-003", "A", "torqued free")
    values = [one.value_mm for one in finals]
    assert abs(linear_regression(range(len(values)), values).slope) < CREEP_MM / 3


def test_an_indicator_that_cannot_follow_a_point_is_not_taken(demo: DemoShop) -> None:
    taken = {
        one["data"]["frozen"]["indicator"]["serial"]
        for one in demo.of_kind("setup opened")
        if one["data"]["design"] == "CLR-08"
    }
    assert taken == {"I-01", "I-02"}


def test_most_readings_lie_within_their_limits(demo: DemoShop) -> None:
    with demo.uow as uow:
        finals = [one for one in uow.setups.readings("SAD-20-003") if one.final]
    judged = [one for one in finals if one.state == "torqued locked"]
    out = [one for one in judged if abs(one.value_mm) > LIMIT_MM]
    assert len(out) < len(judged) / 20


def test_clamps_are_greased_once_the_count_is_reached_and_not_before(demo: DemoShop) -> None:
    every = {"SAD-20": 20, "CLR-08": 15}
    for plate in ("SAD-20-003", "CLR-08-001"):
        greased = [one.greased for one in demo.setups if one.plate == plate]
        expected = every[plate[:6]]
        assert [n for n, one in enumerate(greased) if one][:2] == [expected, 2 * expected + 1]


def test_the_empty_plate_is_read_when_its_baseline_is_due(demo: DemoShop) -> None:
    baseline = [one.baseline for one in demo.setups if one.plate == "SAD-20-003"]
    assert [n for n, one in enumerate(baseline) if one] == [50]
    with demo.uow as uow:
        empty = uow.setups.readings("SAD-20-003", "A", "empty locked")
    assert len(empty) == 1


def test_no_wrench_has_used_up_its_pulls(demo: DemoShop) -> None:
    for tool in shop_data(demo.uow, demo.means).tools:
        assert tool["pulls_before"] < tool["pulls"] < tool["pulls_limit"]


def test_the_pace_of_the_bench_is_that_of_hands(demo: DemoShop) -> None:
    pace = shop_data(demo.uow, demo.means).pace
    assert 6 < pace["torque"] < 11
    assert 19 < pace["load"] < 32


def _finals(demo: DemoShop, plate: str, point: str, state: str) -> list[PointReading]:
    with demo.uow as uow:
        return [one for one in uow.setups.readings(plate, point, state) if one.final]


def _inside(reading: PointReading) -> bool:
    """Inside the expected band, or within half a mark of it."""
    *_, low_um, high_um = COMPUTED_UM[reading.plate[:6], reading.point]
    half_um = 6.35 if reading.unit == "in" else 5.0
    return low_um - half_um - 1e-6 <= reading.value_mm * 1e3 <= high_um + half_um + 1e-6


def _trend(demo: DemoShop, plate: str) -> tuple[float, list[float]]:
    """Slope per setup over the readings within limits, and these readings."""
    with demo.uow as uow:
        readings = uow.setups.readings(plate, "A", "torqued locked")
    values = [one.value_mm for one in readings if one.final and abs(one.value_mm) <= LIMIT_MM]
    return linear_regression(range(len(values)), values).slope, values
