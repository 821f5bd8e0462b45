"""Design documents for computations: rows of parts between stops, and designs turned on the table."""

from __future__ import annotations

import copy
import datetime as dt
import tomllib
from dataclasses import dataclass
from typing import Any

from hypothesis import strategies as st

from api.domain.analyses.guide import Analysis
from api.domain.designs import Design
from api.domain.designs.reading import Reading, read_design
from api.domain.designs.writing import write_design
from api.domain.units import parse
from api.paths import share
from api.use_cases.analysis import analyse
from api.use_cases.analysis.ground import Ground, ground_of
from api.use_cases.demo.stores import demo_stores

STORES = demo_stores(share("seed_data"), dt.date(2026, 3, 2))
Document = dict[str, Any]
PART_MM, GAP_MM, PITCH_MM, FIRST_MM = 40.0, 12.0, 60.0, 30.0


@dataclass(frozen=True)
class Sketch:
    """Rows of one or two clamps, each clamp between two parts, each row between stops of its own.

    Receivers lie at these shares of length and width from the rims.
    """

    clamps: tuple[int, ...] = (1, 2)
    length_mm: float = 300.0
    thickness_mm: float = 20.0
    torque_nm: float = 10.0
    friction: tuple[float, float, float] = (0.08, 0.11, 0.14)
    pull_kn: float = 15.0
    receivers: tuple[float, float] = (0.25, 0.25)
    rest: str = "pads"
    plate: str = "free"
    height_mm: float = 10.0
    cut: bool = False

    @property
    def width_mm(self) -> float:
        return max(120.0, PITCH_MM * len(self.clamps))


def document(sketch: Sketch) -> Document:
    found: Document = {
        "format": "clampbook-design/1",
        "code": "TRY-01",
        "revision": "A",
        "title": "Rows between stops",
        "part": {
            "number": "TRY-01-1",
            "material": "6061-T6",
            "size": [f"{PART_MM} mm", "36 mm", "24 mm"],
        },
        "plate": {
            "size": _mm(sketch.length_mm, sketch.width_mm, sketch.thickness_mm),
            "material": "6061-T6",
        },
        "receivers": _receivers(sketch),
        "stop": [],
        "spec": [_spec(sketch)],
        "clamp": [],
        "station": [],
        "point": [_point(sketch)],
        "tightening": {"passes": [0.5, 1.0], "plate": sketch.plate},
    }
    if sketch.cut:
        found["cut"] = [dict(SLOT)]
    for row, count in enumerate(sketch.clamps):
        y_mm = sketch.width_mm * (row + 0.5) / len(sketch.clamps)
        _row(found, f"{row + 1}", count, y_mm, sketch)
    found["tightening"]["order"] = [clamp["id"] for clamp in found["clamp"]]
    return found


SLOT = {
    "name": "slot",
    "kind": "slot",
    "diameter": "10 mm",
    "teeth": 3,
    "depth": "3 mm",
    "width": "10 mm",
    "feed_per_tooth": "0.05 mm",
    "speed": "200 m/min",
    "worn": 1.2,
    "height": "24 mm",
    "minutes": "0.5 min",
}


def _mm(*lengths: float) -> list[str]:
    return [f"{length:.6f} mm" for length in lengths]


def _receivers(sketch: Sketch) -> Document:
    along, across = (
        share * whole
        for share, whole in zip(sketch.receivers, (sketch.length_mm, sketch.width_mm), strict=True)
    )
    return {
        "rest": sketch.rest,
        "pull": f"{sketch.pull_kn:.6f} kN",
        "pad": {"diameter": "30 mm", "bore": "12 mm"},
        "at": [
            _mm(x, y)
            for y in (across, sketch.width_mm - across)
            for x in (along, sketch.length_mm - along)
        ],
    }


def _spec(sketch: Sketch) -> Document:
    low, usual, high = sketch.friction
    return {
        "id": "taper",
        "kind": "cone",
        "thread": "M8",
        "strength": "12.9",
        "half_angle": "10 deg",
        "contact_radius": "5 mm",
        "engagement": "14 mm",
        "friction": {"low": low, "usual": usual, "high": high},
        "stiffness": "60 kN/mm",
        "rated": {"torque": "15 N*m"},
    }


def _point(sketch: Sketch) -> Document:
    return {
        "id": "A",
        "at": _mm(sketch.length_mm / 2, sketch.width_mm / 2),
        "zero": "snug free",
        "read": "torqued locked",
        "limit": "1 mm",
    }


def _row(found: Document, name: str, count: int, y_mm: float, sketch: Sketch) -> None:
    x_mm, anchor = FIRST_MM, f"L{name}"
    _stop(found, anchor, x_mm - 20, y_mm)
    for number in range(1, count + 2):
        centre = x_mm + PART_MM / 2
        x_mm += PART_MM + 2 * GAP_MM
        after = f"C{name}{number}" if number <= count else f"R{name}"
        found["station"].append(
            {
                "id": f"P{name}{number}",
                "between": [anchor, after],
                "at": _mm(centre, y_mm),
                "contact_height": f"{sketch.height_mm} mm",
            }
        )
        if number > count:
            _stop(found, after, x_mm - 2 * GAP_MM, y_mm)
        else:
            at = _mm(x_mm - GAP_MM, y_mm)
            torque = f"{sketch.torque_nm:.6f} N*m"
            found["clamp"].append(
                {"id": after, "spec": "taper", "at": at, "axis": "x", "torque": torque}
            )
        anchor = after


def _stop(found: Document, name: str, x_mm: float, y_mm: float) -> None:
    corner, size = _mm(x_mm, y_mm - 20), ["20 mm", "40 mm", "18 mm"]
    found["stop"].append({"id": name, "corner": corner, "size": size})


def read(found: Document) -> Reading:
    return read_design(write_design(found), "design.toml", STORES)


def design_of(found: Document) -> Design:
    """Of a document with nothing against it."""
    reading = read(found)
    assert reading.design is not None, [str(each) for each in reading.findings]
    assert not reading.stops, [str(each) for each in reading.stops]
    return reading.design


def ground(sketch: Sketch) -> Ground:
    return ground_of(design_of(document(sketch)), STORES)


def analysed(found: Document) -> Analysis:
    reading = read(found)
    assert reading.design is not None, [str(each) for each in reading.findings]
    return analyse(reading.design, STORES, reading.findings, lambda _words, _share: None)


def shares(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high).map(lambda value: round(value, 3))


# Longest row: two clamps, three parts, 30 mm before and 20 mm stop after: 218 mm.
sketches = st.builds(
    Sketch,
    clamps=st.lists(st.integers(1, 2), min_size=1, max_size=4).map(tuple),
    length_mm=shares(240, 400),
    thickness_mm=shares(14, 40),
    torque_nm=shares(6, 14),
    friction=shares(0.08, 0.16).map(lambda usual: (0.8 * usual, usual, 1.25 * usual)),
    pull_kn=shares(3, 30),
    receivers=st.tuples(shares(0.1, 0.4), shares(0.15, 0.38)),
    rest=st.sampled_from(["pads", "flat"]),
    plate=st.sampled_from(["free", "locked"]),
    height_mm=shares(5, 15),
)


def seeded(name: str) -> Document:
    return tomllib.loads((share("seed_data") / "designs" / f"{name}.toml").read_text("utf-8"))


def turned(found: Document) -> Document:
    """The whole design a quarter turn to the left: x along the new y, the plate's front to its right."""
    it = copy.deepcopy(found)
    width_mm = _length(it["plate"]["size"][1])

    def place(at: list[str]) -> list[str]:
        x, y = map(_length, at)
        return _mm(width_mm - y, x)

    def box(one: Document) -> None:
        (x, y), (length, width) = map(_length, one["corner"]), map(_length, one["size"][:2])
        one["corner"] = _mm(width_mm - y - width, x)
        one["size"] = [*_mm(width, length), *one["size"][2:]]

    for sized in (it["plate"], it["part"]):
        sized["size"] = [sized["size"][1], sized["size"][0], sized["size"][2]]
    for boxed in (*it["stop"], *it["plate"].get("pocket", [])):
        box(boxed)
    it["receivers"]["at"] = [place(at) for at in it["receivers"]["at"]]
    for placed in (*it["clamp"], *it["station"], *it["point"]):
        placed["at"] = place(placed["at"])
    for clamp in it["clamp"]:
        clamp["axis"] = {"x": "y", "y": "x"}[clamp["axis"]]
    return it


def _length(text: str) -> float:
    return parse(text, "length").mm
