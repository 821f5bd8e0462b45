"""Torque wrenches: adapters in line, and how far a tool may be off."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.mechanics.screws.torque_tools import ToolType, permitted_deviation
from api.mechanics.screws.values import ImpossibleInput
from api.mechanics.screws.wrench import wrench_setting
from tests.mechanics.forms.screws import torque_at_screw

KINDS: list[tuple[ToolType, str]] = [
    *(("I", each) for each in "ABCDE"),
    *(("II", each) for each in "ABCDEFG"),
]


# Worked value: 25 N·m through 60 mm on a 300 mm wrench.
def test_a_longer_wrench_is_set_lower() -> None:
    assert wrench_setting(25, 300, 60) == pytest.approx(20.833333333333332, rel=1e-12)


# Shop case: 135 in·lb, wrench 10 in, adapter 1.5 in longer or shorter; 120 with 12 and 2.
@pytest.mark.parametrize(
    ("target", "wrench", "adapter", "setting"),
    [(135, 10, 1.5, 117.4), (135, 10, -1.5, 158.8), (120, 12, 2, 102.9)],
)
def test_the_setting_allows_for_an_adapter_in_line(
    target: float, wrench: float, adapter: float, setting: float
) -> None:
    assert wrench_setting(target, wrench, adapter) == pytest.approx(setting, abs=0.051)


@pytest.mark.parametrize(("adapter", "result"), [(1.5, 155.3), (-1.5, 114.8)])
def test_a_setting_that_is_not_corrected_misses_by_15_percent(
    adapter: float, result: float
) -> None:
    assert torque_at_screw(135, 10, adapter) == pytest.approx(result, abs=0.051)


@given(st.floats(0.1, 500), st.floats(0.05, 2), st.floats(-0.04, 1))
def test_setting_and_result_are_inverse(target: float, wrench: float, adapter: float) -> None:
    setting = wrench_setting(target, wrench, adapter)
    assert torque_at_screw(setting, wrench, adapter) == pytest.approx(target)


@pytest.mark.parametrize(("wrench", "adapter"), [(0.0, 0.1), (0.3, -0.3), (float("nan"), 0.1)])
def test_an_adapter_that_leaves_no_wrench_is_refused(wrench: float, adapter: float) -> None:
    with pytest.raises(ImpossibleInput, match="wrench"):
        wrench_setting(20, wrench, adapter)


# ISO 6789-1:2017, share permitted above 10 N·m; 6 % up to there for all.
@pytest.mark.parametrize(("tool_type", "tool_class"), KINDS)
def test_a_tool_may_deviate_by_what_its_type_and_class_allow(
    tool_type: ToolType, tool_class: str
) -> None:
    fine = {("I", "B"), ("I", "C"), ("I", "E"), ("II", "A"), ("II", "B"), ("II", "C")}
    above = 0.04 if (tool_type, tool_class) in fine else 0.06
    limits = permitted_deviation(tool_type, tool_class, np.array([2.0, 10.0, 10.01, 200.0]))
    assert np.asarray(limits) == pytest.approx([0.06, 0.06, above, above])
    assert permitted_deviation(tool_type, tool_class, 20.0) == pytest.approx(above)


@pytest.mark.parametrize(("tool_type", "tool_class"), [("I", "F"), ("II", "H"), ("II", "AB")])
def test_a_class_a_type_does_not_have_is_refused(tool_type: ToolType, tool_class: str) -> None:
    with pytest.raises(ImpossibleInput, match=rf"type {tool_type} has no class {tool_class}"):
        permitted_deviation(tool_type, tool_class, 20)


# Worked example: an adjustable click wrench set to 20 N·m, graduation 0.5 N·m.
def test_a_click_wrench_within_its_limit_stays_so_with_its_measurement_uncertainty() -> None:
    readings = np.array([19.62, 19.71, 19.80, 19.66, 19.74])
    deviations = 100 * (20 - readings) / readings
    repeat = deviations.std(ddof=1) / np.sqrt(5)
    resolution = 100 * 0.5 / 2 / np.sqrt(3) / 20
    w = float(np.sqrt(resolution**2 + 0.25**2 + 0.5**2 + repeat**2))
    assert deviations.mean() == pytest.approx(1.493, abs=5e-4)
    assert deviations.max() == pytest.approx(1.9367991845056012, rel=1e-12)
    assert repeat == pytest.approx(0.16084717360224707, rel=1e-12)
    assert w == pytest.approx(0.9269331942428024, rel=1e-12)
    limit = 100 * permitted_deviation("II", "A", 20)
    assert deviations.max() < limit
    assert deviations.mean() + 2 * w < limit
    assert deviations.mean() + 2 * w > 0.8 * limit
