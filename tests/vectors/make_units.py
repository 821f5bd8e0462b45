"""Writes units.json and choice.json: `python -m tests.vectors.make_units`.

The files keep the tablet's conversions, settings and choices the same as the server's; what is right
is said by tests/domain/test_units.py, test_torque_setting.py and test_indicator_choice.py.
"""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import Any

from api.domain import indicator_choice as choice
from api.domain.stores import Indicator, TorqueTool
from api.domain.torque_setting import set_value, suits
from api.domain.units import to_unit

HERE = Path(__file__).parent
TODAY = dt.date(2026, 11, 24)

TOOL: dict[str, Any] = {
    "serial": "T-03",
    "title": "Click wrench",
    "kind": "click",
    "unit": "N*m",
    "low": 3,
    "high": 15,
    "graduation": 0.1,
    "calibrated": "2026-03-02",
    "due": "2027-03-02",
    "pulls_limit": 5000,
    "pulls_before": 120,
    "adapter": None,
    "state": "in use",
    "note": "",
}
INCH_TOOL = {
    **TOOL,
    "serial": "T-05",
    "kind": "slip",
    "unit": "lbf*in",
    "low": 30,
    "high": 150,
    "graduation": 1,
}
FOOT_TOOL = {**TOOL, "unit": "lbf*ft", "low": 2, "high": 25, "graduation": 0.25}
WIDE_TOOL = {**TOOL, "low": 1, "high": 20, "graduation": 0.5}
ADAPTER = {"length_mm": 38.1, "wrench_length_mm": 254}
INDICATOR: dict[str, Any] = {
    "serial": "I-01",
    "title": "Dial indicator",
    "kind": "dial",
    "unit": "mm",
    "graduation": 0.01,
    "per_turn": 1,
    "travel": 10,
    "plus": "up",
    "stylus_deg": 0,
    "due": "2027-01-15",
    "state": "in use",
    "note": "",
}
LEVER = {
    **INDICATOR,
    "serial": "I-02",
    "kind": "lever",
    "unit": "in",
    "graduation": 0.0005,
    "per_turn": 0.02,
    "travel": 0.03,
}


def units() -> dict[str, Any]:
    return {
        "torque": [
            {"nm": nm, "unit": unit, "value": to_unit(nm, unit)}
            for nm in (0.5, 3.6, 8.4, 12.0, 28.5, 81.3)
            for unit in ("N*m", "lbf*in", "lbf*ft")
        ],
        "length": [
            {"mm": mm, "unit": unit, "value": to_unit(mm / 1e3, unit)}
            for mm in (-0.03, 0.01, 0.05, 12.7, 25.4, 450.0)
            for unit in ("mm", "in")
        ],
        "set_value": [_setting(target, tool) for target, tool in _settings()],
        "suits": [_suits(*case) for case in _suit_cases()],
    }


def _settings() -> list[tuple[float, dict[str, Any]]]:
    plain = [
        (target, tool)
        for target in (3.6, 8.4, 12.0, 6.25)
        for tool in (TOOL, INCH_TOOL, FOOT_TOOL, WIDE_TOOL)
    ]
    inch_target_nm = 135 * 0.1129848290276167
    return [
        *plain,
        (inch_target_nm, {**INCH_TOOL, "adapter": ADAPTER}),
        (inch_target_nm, {**INCH_TOOL, "graduation": 0.1, "adapter": ADAPTER}),
        (
            25.0,
            {
                **TOOL,
                "high": 30,
                "graduation": 0.01,
                "adapter": {"length_mm": 60, "wrench_length_mm": 300},
            },
        ),
        (12.25, {**TOOL, "graduation": 0.5}),
        (12.05, TOOL),
    ]


def _setting(target_nm: float, tool: dict[str, Any]) -> dict[str, Any]:
    shown = set_value(target_nm, TorqueTool.model_validate_json(json.dumps(tool)))
    used = {key: tool[key] for key in ("unit", "graduation", "adapter")}
    return {"target_nm": target_nm, "tool": used, "shown": shown}


def _suit_cases() -> list[tuple[str, dict[str, Any], list[float], int | None]]:
    targets = [3.6, 8.4, 12.0]
    return [
        ("a tool that covers all passes", TOOL, targets, 120),
        ("a tool in inch pounds", INCH_TOOL, targets, 120),
        ("the lowest usable value itself", TOOL, [3.0], 120),
        ("the top itself", TOOL, [15.0], 120),
        ("below a fifth of the top", {**TOOL, "low": 1, "high": 20}, targets, 120),
        ("above the top", TOOL, [3.6, 16.0], 120),
        ("below and above", TOOL, [2.0, 16.0], 120),
        (
            "an adapter takes a setting below the range",
            {**TOOL, "adapter": ADAPTER},
            [3.2, 12.0],
            120,
        ),
        ("an adapter brings a setting into the range", {**TOOL, "adapter": ADAPTER}, [16.0], 120),
        ("the due date itself", {**TOOL, "due": "2026-11-24"}, targets, 120),
        ("a day late", {**TOOL, "due": "2026-11-23"}, targets, 120),
        ("one pull left", TOOL, targets, 4999),
        ("no pull left", TOOL, targets, 5000),
        ("pulls it came with", {**TOOL, "pulls_before": 5000}, targets, None),
        ("withdrawn", {**TOOL, "state": "withdrawn"}, targets, 120),
        ("nothing to tighten", TOOL, [], 120),
    ]


def _suits(
    name: str, tool: dict[str, Any], targets: list[float], pulls: int | None
) -> dict[str, Any]:
    found = suits(TorqueTool.model_validate_json(json.dumps(tool)), targets, TODAY, pulls)
    return {
        "name": name,
        "tool": tool,
        "targets_nm": targets,
        "pulls": pulls,
        "today": TODAY.isoformat(),
        "codes": [refusal.code for refusal in found],
    }


def choices() -> list[dict[str, Any]]:
    one = [{"low_mm": -0.05, "high_mm": 0.05}]
    two = [{"low_mm": -0.01, "high_mm": 0.05}]
    cases: list[tuple[str, dict[str, Any], list[dict[str, float]]]] = [
        ("5 to 1 is used with advice", INDICATOR, one),
        ("10 to 1 needs no advice", {**INDICATOR, "graduation": 0.005}, one),
        ("4 to 1 is the least", INDICATOR, [{"low_mm": -0.04, "high_mm": 0.04}]),
        ("under 4 to 1 is refused", INDICATOR, [{"low_mm": -0.039, "high_mm": 0.039}]),
        ("half a thou on 0.05 mm is refused", LEVER, one),
        ("half a thou on 0.002 in is the least", LEVER, [{"low_mm": -0.0508, "high_mm": 0.0508}]),
        ("two limits count from one to the other", LEVER, two),
        ("the narrowest of several counts", INDICATOR, [*two, {"low_mm": -0.03, "high_mm": 0.03}]),
        ("a stylus at 30 degrees", {**LEVER, "graduation": 0.0001, "stylus_deg": 30}, one),
        ("a stylus beyond 30 degrees", {**LEVER, "graduation": 0.0001, "stylus_deg": 31}, one),
        ("the due date itself", {**INDICATOR, "due": "2026-11-24"}, one),
        ("a day late", {**INDICATOR, "due": "2026-11-23"}, one),
        ("withdrawn", {**INDICATOR, "state": "withdrawn"}, one),
        ("nothing to judge", INDICATOR, []),
    ]
    return [_choice(*case) for case in cases]


def _choice(name: str, indicator: dict[str, Any], limits: list[dict[str, float]]) -> dict[str, Any]:
    item = Indicator.model_validate_json(json.dumps(indicator))
    widths = [choice.limit_width_mm(limit["low_mm"], limit["high_mm"]) for limit in limits]
    return {
        "name": name,
        "indicator": indicator,
        "limits": limits,
        "today": TODAY.isoformat(),
        "ratio": choice.ratio(min(widths), item) if widths else None,
        "refusals": [refusal.code for refusal in choice.refusals(item, widths, TODAY)],
        "advice": [advice.code for advice in choice.advice(item, widths)],
    }


def write() -> None:
    for name, content in (("units.json", units()), ("choice.json", choices())):
        text = json.dumps(content, indent=1, ensure_ascii=False)
        (HERE / name).write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    write()
