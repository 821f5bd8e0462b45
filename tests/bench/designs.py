"""Designs of any number of clamps for benchmarks, on one plate whose grid does not depend on it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import Literal

from api.domain.designs import Finding, read_design
from api.domain.designs.document import Design
from api.domain.stores import Stores
from api.paths import share
from api.use_cases.demo.stores import demo_stores

COLUMNS, ROWS = 6, 10
COLUMN_MM, ROW_MM, LEFT_MM, FRONT_MM = 73, 27, 6, 28
STOP_MM, PART_MM, JAWS_MM = 10, 20, 28
Rest = Literal["pads", "flat"]

HEAD = """\
format = "clampbook-design/1"
code = "BEN-{count}"
revision = "A"
title = "{count} clamps for a benchmark"

[part]
number = "BEN-1"
material = "6061-T6"
size = ["{part} mm", "{part} mm", "16 mm"]
tolerance = {{ thickness = "0.10 mm", parallelism = "0.05 mm", flatness = "0.05 mm" }}

[plate]
size = ["450 mm", "300 mm", "25 mm"]
material = "6061-T6"

[receivers]
rest = "{rest}"
pull = "15 kN"
pad = {{ diameter = "40 mm", bore = "20 mm" }}
at = [["115 mm", "75 mm"], ["335 mm", "75 mm"], ["115 mm", "225 mm"], ["335 mm", "225 mm"]]

[[spec]]
id = "m6"
title = "M6 taper clamp"
kind = "cone"
thread = "M6"
strength = "12.9"
half_angle = "10 deg"
contact_radius = "4 mm"
engagement = "12 mm"
lubricant = "ep-grease"
rated = {{ torque = "7 N*m", force = "6 kN" }}

[[cut]]
name = "face"
kind = "face"
diameter = "20 mm"
teeth = 3
depth = "0.5 mm"
width = "14 mm"
feed_per_tooth = "0.08 mm"
speed = "300 m/min"
lead = "45 deg"
height = "16 mm"
minutes = "0.5 min"

[tightening]
{passes}order = "auto"
plate = "free"

[time]
load = "25 s"
tool_changes = 1
tool_change = "7 s"
plate_change = "40 s"
"""


def design_of(
    count: int, rest: Rest = "pads", passes: Sequence[float] | None = (0.3, 0.7, 1.0)
) -> tuple[Design, Stores, tuple[Finding, ...]]:
    """Up to 60 clamps spread over 6 columns of 10, all bars there whether used or not.

    `passes` None leaves their number to be found as well.
    """
    stores = demo_stores(share("seed_data"), dt.date(2026, 1, 1)).model_copy(update={"tools": {}})
    text = toml_of(count, rest, passes)
    reading = read_design(text, f"BEN-{count}.toml", stores)
    if reading.design is None or any(finding.level == "stop" for finding in reading.findings):
        told = [finding.message for finding in reading.findings]
        raise ValueError(f"The benchmark's design does not pass: {told}")
    return reading.design, stores, tuple(reading.findings)


def toml_of(count: int, rest: Rest, passes: Sequence[float] | None) -> str:
    told = "" if passes is None else f"passes = {list(passes)}\n"
    head = HEAD.format(count=count, part=PART_MM, rest=rest, passes=told)
    sites = [round(k * COLUMNS * ROWS / count) for k in range(count)]
    return "\n".join(
        [head, *_stops(), *(_station(*divmod(site, ROWS)) for site in sites), *_points()]
    )


def _stops() -> Iterator[str]:
    back_mm = STOP_MM + PART_MM + JAWS_MM
    for column in range(COLUMNS):
        for name, shift_mm in (("F", 0), ("B", back_mm)):
            x_mm = LEFT_MM + column * COLUMN_MM + shift_mm
            yield (
                f'[[stop]]\nid = "{name}{column}"\ncorner = ["{x_mm} mm", "15 mm"]\n'
                f'size = ["{STOP_MM} mm", "270 mm", "14 mm"]\nundercut = "0 deg"\nface = "smooth"\n'
            )


def _station(column: int, row: int) -> str:
    left_mm, y_mm = LEFT_MM + column * COLUMN_MM, FRONT_MM + row * ROW_MM
    part_mm, jaw_mm = left_mm + STOP_MM + PART_MM / 2, left_mm + STOP_MM + PART_MM + JAWS_MM / 2
    name = f"{column}{row}"
    return (
        f'[[clamp]]\nid = "C{name}"\nspec = "m6"\nat = ["{jaw_mm} mm", "{y_mm} mm"]\naxis = "x"\n'
        f'torque = "6 N*m"\n\n[[station]]\nid = "P{name}"\nbetween = ["F{column}", "C{name}"]\n'
        f'at = ["{part_mm} mm", "{y_mm} mm"]\ncontact_height = "9 mm"\nshape = "block"\n'
    )


def _points() -> Iterator[str]:
    for name, at in (("A", '"224 mm", "150 mm"'), ("B", '"224 mm", "8 mm"')):
        yield (
            f'[[point]]\nid = "{name}"\nat = [{at}]\nzero = "snug free"\nread = "torqued locked"\n'
            'limit = "0.05 mm"\n'
        )
