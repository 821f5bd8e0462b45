"""A remedy is worth its sentence only if the design, changed as it says, is free of the finding."""

from __future__ import annotations

import datetime as dt
import re
from functools import cache

import pytest

from api.domain.analyses.result import Check, Result
from api.domain.designs.reading import read_design
from api.paths import share
from api.use_cases.analysis import analyse
from api.use_cases.demo.stores import demo_stores
from tests.support.three_bars import CORNERS, three_bars

STORES = demo_stores(share("seed_data"), dt.date(2026, 3, 2))


@cache
def result_of(text: str) -> Result:
    reading = read_design(text, "design.toml", STORES)
    assert reading.design is not None, reading.findings
    return analyse(reading.design, STORES, reading.findings, lambda _words, _share: None).result


def finding(text: str, code: str) -> Check:
    return next(check for check in result_of(text).checks if check.code == code)


def codes(text: str) -> set[str]:
    return {check.code for check in result_of(text).checks}


def number(pattern: str, sentence: str) -> float:
    found = re.search(pattern, sentence)
    assert found is not None, sentence
    return float(found.group(1))


def test_a_single_pass_on_a_soft_plate_is_told_with_what_is_left_and_what_a_pass_more_gives() -> (
    None
):
    text = three_bars(passes="[1.0]", thickness=16)
    told = finding(text, "clamp-loses-force")
    left = number(r"ends at (\d+) %", told.message)
    worst = min(
        clamp.after_pass_n[-1] / clamp.side_n.usual for clamp in result_of(text).clamps.values()
    )
    assert left == pytest.approx(100 * worst, abs=0.51)
    promised = number(
        r"add \w+ pass\w* at full torque \(keeps (\d+) %\)", told.fix.replace("a pass", "a pass")
    )
    more = result_of(three_bars(passes="[1.0, 1.0]", thickness=16, order=order_of(text)))
    kept = min(clamp.after_pass_n[-1] / clamp.side_n.usual for clamp in more.clamps.values())
    assert promised == pytest.approx(100 * kept, abs=0.51)
    assert promised > left


def test_tightening_the_plate_locked_keeps_what_the_sentence_says() -> None:
    text = three_bars(passes="[1.0]", thickness=16)
    fix = finding(text, "clamp-loses-force").fix
    promised = number(r"tighten with the plate locked \(keeps (\d+) %\)", fix)
    locked = result_of(
        three_bars(passes="[1.0]", thickness=16, plate="locked", order=order_of(text))
    )
    kept = min(clamp.after_pass_n[-1] / clamp.side_n.usual for clamp in locked.clamps.values())
    assert promised == pytest.approx(100 * kept, abs=1.5)


def test_receivers_moved_as_proposed_bring_the_reading_within_its_limit() -> None:
    text = three_bars(limit=0.05)
    told = finding(text, "reading-beyond-limit")
    places = re.search(
        r"receivers to (\d+)/(\d+) and (\d+)/(\d+) mm \(leaves A at ([\d.]+) mm", told.fix
    )
    assert places is not None, told.fix
    x0, y0, x1, y1 = places.groups()[:4]
    moved = three_bars(
        limit=0.05, receivers_mm=f"[{x0}, {y0}], [{x1}, {y0}], [{x0}, {y1}], [{x1}, {y1}]"
    )
    point = result_of(moved).points["A"]
    assert point.verdict == "within"
    assert abs(point.reading_um.usual) == pytest.approx(1e3 * float(places.group(5)), abs=3)


def test_a_plate_as_thick_as_proposed_brings_the_reading_within_its_limit() -> None:
    told = finding(three_bars(limit=0.05), "reading-beyond-limit")
    thickness = number(r"a plate (\d+) mm thick", told.fix)
    assert result_of(three_bars(limit=0.05, thickness=thickness)).points["A"].verdict == "within"


def test_a_lighter_cut_as_proposed_is_held() -> None:
    heavy = three_bars(depth=4.0)
    told = finding(heavy, "grip-fails")
    depth = number(r"or ([\d.]+) mm deep", told.fix)
    assert "grip-fails" not in codes(three_bars(depth=0.98 * depth))


def test_a_serrated_stop_holds_as_often_as_the_sentence_says() -> None:
    smooth = three_bars(face="smooth", depth=1.5)
    told = next(c for c in result_of(smooth).checks if c.code in {"grip-weak", "grip-fails"})
    promised = number(r"finely serrated stop \(([\d.]+) times\)", told.fix)
    fine = result_of(three_bars(face="fine", depth=1.5))
    least = min(
        margin
        for station in fine.stations.values()
        for margin in (station.hold.slip, station.hold.lift, station.hold.tip)
        if margin is not None
    )
    assert promised == pytest.approx(least, rel=0.05)


def test_a_plate_that_lifts_off_a_receiver_is_refused_with_the_pull_that_is_too_weak() -> None:
    middle = f"{CORNERS}, [200, 125]"
    told = finding(three_bars(pull=1, receivers_mm=middle), "leaves-receiver")
    assert told.level == "stop"
    assert "lifts off receiver 5" in told.message
    assert "pulls with 1.0 kN" in told.message
    assert "leaves-receiver" not in codes(three_bars(pull=30, receivers_mm=middle))


def test_a_plate_that_tips_off_its_receivers_is_refused_with_what_to_change() -> None:
    corner = "[40, 40], [80, 40], [40, 80], [80, 80]"
    told = finding(three_bars(receivers_mm=corner), "cannot-work")
    assert told.level == "stop"
    assert "tips" in told.message
    assert "Spread the receivers" in told.fix


def test_a_sound_design_has_nothing_that_stops_it() -> None:
    assert not result_of(three_bars()).stops


def order_of(text: str) -> str:
    return str(result_of(text).order).replace("'", '"')
