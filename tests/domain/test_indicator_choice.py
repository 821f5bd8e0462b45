"""Whether an indicator can judge its limits."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import Any

import pytest

from api.domain import indicator_choice as choice
from api.domain.stores import Indicator
from tests.domain.designs.examples import indicator

CASES: list[dict[str, Any]] = json.loads(
    (Path(__file__).parents[1] / "vectors" / "choice.json").read_text("utf-8")
)
TODAY = dt.date(2026, 11, 24)


@pytest.mark.parametrize("case", CASES, ids=lambda case: str(case["name"]))
def test_an_indicator_is_judged_as_on_the_tablet(case: dict[str, Any]) -> None:
    item = Indicator.model_validate_json(json.dumps(case["indicator"]))
    widths = [choice.limit_width_mm(limit["low_mm"], limit["high_mm"]) for limit in case["limits"]]
    today = dt.date.fromisoformat(case["today"])
    assert [each.code for each in choice.refusals(item, widths, today)] == case["refusals"]
    assert [each.code for each in choice.advice(item, widths)] == case["advice"]
    if widths:
        assert choice.ratio(min(widths), item) == pytest.approx(case["ratio"])


def test_a_single_limit_counts_once_and_two_limits_from_one_to_the_other() -> None:
    assert choice.limit_width_mm(-0.05, 0.05) == 0.05
    assert choice.limit_width_mm(-0.01, 0.05) == pytest.approx(0.06)


def test_half_a_thou_cannot_judge_five_hundredths() -> None:
    found = choice.refusals(indicator("I-02", "in", 0.0005), [0.05], TODAY)
    assert [each.message for each in found] == [
        "the graduation of I-02 is 0.0127 mm, 1 to 3.9 of the limit of 0.05 mm; 1 to 4 is wanted"
    ]


def test_a_steep_stylus_is_refused_with_its_angle() -> None:
    found = choice.refusals(indicator("I-02", "mm", 0.001, stylus_deg=35.0), [0.05], TODAY)
    assert [each.message for each in found] == [
        "the stylus of I-02 stands at 35 degrees; at most 30 may judge a limit"
    ]
