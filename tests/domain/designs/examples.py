"""A small design that has nothing against it, the stores it is checked against, and helpers."""

from __future__ import annotations

import datetime as dt
import json
from typing import Any

from api.domain.designs import Finding, Reading, read_design
from api.domain.stores import (
    Grease,
    Indicator,
    Material,
    StoredSpec,
    Stores,
    TorqueTool,
)
from api.paths import share

FILE = "test.toml"

BASE = """\
format = "clampbook-design/1"
code = "TST-01"
revision = "A"
title = "One block"

[part]
number = "TST-01-1"
material = "6061-T6"
size = ["50 mm", "36 mm", "24 mm"]

[plate]
size = ["300 mm", "200 mm", "25 mm"]
material = "6061-T6"
pocket = [
    { corner = ["220 mm", "100 mm"], size = ["40 mm", "50 mm"], depth = "6 mm" },
]

[receivers]
rest = "pads"
pull = "15 kN"
pad = { diameter = "40 mm", bore = "20 mm" }
at = [["60 mm", "100 mm"], ["240 mm", "100 mm"]]

[[stop]]
id = "S1"
corner = ["25 mm", "30 mm"]
size = ["20 mm", "140 mm", "18 mm"]

[[stop]]
id = "S2"
corner = ["135 mm", "30 mm"]
size = ["20 mm", "140 mm", "18 mm"]

[[spec]]
id = "m8-taper"
kind = "cone"
thread = "M8"
strength = "12.9"
half_angle = "10 deg"
contact_radius = "5.5 mm"
engagement = "14 mm"
lubricant = "ep-grease"
stiffness = "60 kN/mm"
rated = { torque = "15 N*m", force = "9 kN" }

[[clamp]]
id = "C1"
spec = "m8-taper"
at = ["115 mm", "60 mm"]
axis = "x"
torque = "12 N*m"

[[clamp]]
id = "C2"
spec = "m8-taper"
at = ["115 mm", "140 mm"]
axis = "x"
torque = "12 N*m"
finish_torque = "6 N*m"

[[station]]
id = "P1"
between = ["S1", "C1"]
at = ["70 mm", "60 mm"]
contact_height = "10 mm"

[[station]]
id = "P2"
between = ["S1", "C2"]
at = ["70 mm", "140 mm"]
contact_height = "10 mm"
shape = "block"

[[point]]
id = "A"
at = ["200 mm", "60 mm"]
zero = "snug free"
read = "torqued locked"
limit = "0.10 mm"

[tightening]
passes = [0.3, 0.7, 1.0]
order = ["C1", "C2"]
plate = "free"
"""

CALIBRATED, DUE = dt.date(2026, 3, 2), dt.date(2027, 3, 2)


def tool(serial: str, unit: str, low: float, high: float, **more: Any) -> TorqueTool:
    facts = {
        "title": serial,
        "kind": "click",
        "graduation": 0.1,
        "calibrated": CALIBRATED,
        "due": DUE,
    }
    return TorqueTool.model_validate(
        facts | {"serial": serial, "unit": unit, "low": low, "high": high} | more
    )


def indicator(serial: str, unit: str, graduation: float, **more: Any) -> Indicator:
    facts = {"title": serial, "kind": "dial", "per_turn": 1.0, "travel": 10.0, "due": DUE}
    return Indicator.model_validate(
        facts | {"serial": serial, "unit": unit, "graduation": graduation} | more
    )


def seeded(kind: str) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = json.loads(
        (share("seed_data") / f"{kind}.json").read_text("utf-8")
    )
    return rows


def stores(**changed: Any) -> Stores:
    """What the demonstration shop has, with a few tools and indicators of known range."""
    tools = [
        tool("T-03", "N*m", 3, 15),
        tool("T-05", "lbf*in", 30, 150, graduation=1.0, kind="slip"),
        tool("T-07", "N*m", 2, 14, graduation=0.05, kind="reading"),
    ]
    indicators = [
        indicator("I-01", "mm", 0.01),
        indicator("I-02", "in", 0.0005, per_turn=0.02, travel=0.03),
    ]
    held: dict[str, Any] = {
        "tools": {each.serial: each for each in tools},
        "indicators": {each.serial: each for each in indicators},
        "greases": {row["id"]: Grease.model_validate(row) for row in seeded("greases")},
        "specs": {row["id"]: StoredSpec.model_validate(row) for row in seeded("specs")},
        "materials": {row["id"]: Material.model_validate(row) for row in seeded("materials")},
    }
    return Stores(**(held | changed))


def read(text: str | bytes, held: Stores | None = None) -> Reading:
    return read_design(text, FILE, held or stores())


def changed(old: str, new: str, count: int = 1) -> str:
    """The base design with one place changed; the place must exist."""
    assert old in BASE, f"the base design has no {old!r}"
    return BASE.replace(old, new, count)


def finding(text: str | bytes, code: str, held: Stores | None = None) -> Finding:
    """The one finding with this code."""
    reading = read(text, held)
    found = [each for each in reading.findings if each.code == code]
    assert len(found) == 1, [str(each) for each in reading.findings]
    return found[0]


def codes(text: str | bytes, held: Stores | None = None) -> set[str]:
    return {each.code for each in read(text, held).findings}


def line_of(text: str, fragment: str) -> int:
    assert text.count(fragment) == 1, f"{fragment!r} stands {text.count(fragment)} times"
    return text[: text.index(fragment)].count("\n") + 1
