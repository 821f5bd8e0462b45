"""Findings that compare, warn of screws, and say what a check cannot see."""

from __future__ import annotations

import datetime as dt
import re
from functools import cache

import pytest

from api.domain.analyses.result import Result
from api.domain.designs.reading import read_design
from api.mechanics.screws.sizes import THREADS
from api.paths import share
from api.use_cases.analysis import analyse
from api.use_cases.demo.stores import demo_stores
from tests.support.three_bars import three_bars

STORES = demo_stores(share("seed_data"), dt.date(2026, 3, 2))
CONE = 'kind = "cone"\n'
WEDGE = 'kind = "wedge"\n'


@cache
def result_of(text: str) -> Result:
    reading = read_design(text, "design.toml", STORES)
    assert reading.design is not None, reading.findings
    return analyse(reading.design, STORES, reading.findings, lambda _words, _share: None).result


def told(text: str, code: str) -> str:
    found = [check.message for check in result_of(text).checks if check.code == code]
    assert len(found) <= 1
    return found[0] if found else ""


def shares(result: Result) -> list[float]:
    return [clamp.after_pass_n[-1] / clamp.side_n.usual for clamp in result.clamps.values()]


def test_the_order_found_is_told_beside_row_by_row() -> None:
    text = three_bars(passes="[0.7, 1.0]", thickness=16)
    sentence = told(text, "order-found")
    found, rows = (int(number) for number in re.findall(r"(\d+) %", sentence))
    rows_text = three_bars(
        passes="[0.7, 1.0]",
        thickness=16,
        order=str([f"C{k}" for k in range(1, 9)]).replace("'", '"'),
    )
    assert found == pytest.approx(100 * min(shares(result_of(text))), abs=0.51)
    assert rows == pytest.approx(100 * min(shares(result_of(rows_text))), abs=0.51)
    assert found >= rows
    assert not told(rows_text, "order-found")


def test_a_screw_near_its_proof_load_is_told_with_its_share() -> None:
    weak = three_bars(torque=12).replace(CONE, WEDGE).replace('"12.9"', '"8.8"')
    weak = weak.replace('half_angle = "10 deg"', 'half_angle = "30 deg"')
    weak = weak.replace('engagement = "14 mm"', 'engagement = "24 mm"')
    high = max(c.screw_n.high for c in result_of(weak).clamps.values() if c.screw_n is not None)
    proof = 580e6 * THREADS["M8"].stress_area_m2
    sentence = told(weak, "screw-near-proof")
    assert bool(sentence) == (high > 0.75 * proof)
    stronger = weak.replace("12 N*m", "18 N*m")
    high = max(c.screw_n.high for c in result_of(stronger).clamps.values() if c.screw_n is not None)
    assert high > 0.75 * proof
    assert f"{100 * high / proof:.0f} % of its proof load" in told(stronger, "screw-near-proof")


def test_a_wedge_is_said_to_keep_pressing_while_its_screw_slackens() -> None:
    wedge = three_bars(torque=6).replace(CONE, WEDGE).replace('"10 deg"', '"15 deg"')
    assert "down to about" in told(wedge, "recheck-sees-little")
    locking = wedge.replace('"15 deg"', '"5 deg"')
    assert "locks itself" in told(locking, "recheck-sees-little")
    assert not told(three_bars(), "recheck-sees-little")


def test_an_undercut_on_flat_stock_is_said_to_pull_down_by_friction_alone() -> None:
    text = three_bars().replace('face = "fine"', 'face = "fine"\nundercut = "5 deg"')
    assert "friction alone" in told(text, "undercut-on-flat")
    assert not told(three_bars(), "undercut-on-flat")
