"""What is set on a wrench, and whether it suits."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import Any

import pytest

from api.domain.stores import TorqueTool
from api.domain.torque_setting import decimals_of, exact_setting, set_value, suits
from api.domain.units import to_si
from tests.domain.designs.examples import tool

VECTORS: dict[str, Any] = json.loads(
    (Path(__file__).parents[1] / "vectors" / "units.json").read_text("utf-8")
)
TODAY = dt.date(2026, 11, 24)


@pytest.mark.parametrize(
    ("case"),
    VECTORS["set_value"],
    ids=lambda case: f"{case['target_nm']:.4g} on {case['tool']['unit']}",
)
def test_the_setting_is_the_one_the_tablet_shows(case: dict[str, Any]) -> None:
    used = case["tool"]
    item = tool(
        "T-03", used["unit"], 1, 200, graduation=used["graduation"], adapter=used["adapter"]
    )
    assert set_value(case["target_nm"], item) == case["shown"]


# A target of 135 lbf·in on a 10 in wrench with a 1.5 in adapter: set 117.4 (practice, 1 decimal);
# 120 on 12 in with 2 in: 102.9; 25 N·m on 300 mm with 60 mm: 20.83 N·m (sheet, A5).
@pytest.mark.parametrize(
    ("target", "unit", "length_mm", "adapter_mm", "wanted"),
    [
        (135, "lbf*in", 254.0, 38.1, 117.4),
        (120, "lbf*in", 304.8, 50.8, 102.9),
        (25, "N*m", 300.0, 60.0, 20.83),
    ],
)
def test_an_adapter_in_line_lowers_the_setting(
    target: float, unit: str, length_mm: float, adapter_mm: float, wanted: float
) -> None:
    adapter = {"length_mm": adapter_mm, "wrench_length_mm": length_mm}
    item = tool("T-03", unit, 1, 200, adapter=adapter)
    assert exact_setting(to_si(target, unit), item) == pytest.approx(wanted, abs=0.05)


@pytest.mark.parametrize(
    ("graduation", "decimals"), [(0.1, 1), (0.25, 2), (1.0, 0), (5.0, 0), (0.05, 2)]
)
def test_a_graduation_gives_the_decimals_of_its_settings(graduation: float, decimals: int) -> None:
    assert decimals_of(graduation) == decimals


@pytest.mark.parametrize("case", VECTORS["suits"], ids=lambda case: str(case["name"]))
def test_a_tool_is_refused_for_the_same_reasons_as_on_the_tablet(case: dict[str, Any]) -> None:
    item = TorqueTool.model_validate_json(json.dumps(case["tool"]))
    found = suits(item, case["targets_nm"], dt.date.fromisoformat(case["today"]), case["pulls"])
    assert [refusal.code for refusal in found] == case["codes"]


def test_a_refusal_names_the_range_in_the_tools_unit() -> None:
    found = suits(tool("T-05", "lbf*in", 30, 150), [2.0, 20.0], TODAY)
    assert [refusal.message for refusal in found] == [
        "17.7 lbf·in is below its range; T-05 may be used from 30 to 150 lbf·in",
        "177 lbf·in is above its range; T-05 may be used from 30 to 150 lbf·in",
    ]


def test_a_fifth_of_the_top_counts_where_the_scale_starts_lower() -> None:
    codes = [refusal.code for refusal in suits(tool("T-03", "N*m", 1, 20), [3.9], TODAY)]
    assert codes == ["below-range"]
    assert suits(tool("T-03", "N*m", 1, 20), [4.0], TODAY) == []


def test_an_overdue_tool_names_its_date_and_its_pulls() -> None:
    item = tool("T-09", "N*m", 3, 15, due=dt.date(2026, 11, 1), pulls_before=5200)
    assert [refusal.message for refusal in suits(item, [12.0], TODAY)] == [
        "T-09 was due for calibration on 2026-11-01",
        "T-09 has made 5200 pulls; it is due for calibration at 5000",
    ]
