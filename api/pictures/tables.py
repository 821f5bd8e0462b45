"""Every number of a result in tables, as text: the same for the terminal, the pages and print."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from api.domain.analyses.result import Band, Result
from api.domain.designs import Design
from api.pictures import words as w


@dataclass(frozen=True)
class Column:
    head: str
    unit: str = ""
    number: bool = True


@dataclass(frozen=True)
class Table:
    """The first cell of a row names it; `note` is a sentence that stands under the title."""

    title: str
    note: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]


def tables(result: Result, design: Design) -> list[Table]:
    """All tables that have rows, in the order in which they are read."""
    made = (
        readings(result, design),
        heights(result),
        clamps(result),
        passes(result),
        stations(result, design),
        holds(result),
    )
    return [table for table in made if table.rows]


def clamps(result: Result) -> Table:
    columns = (
        Column("clamp", number=False),
        Column("torque", "N·m"),
        *_band_columns("screw", "kN"),
        *_band_columns("side", "kN"),
        Column("limit", "N·m"),
        Column("limited by", number=False),
    )
    rows = tuple(
        (
            name,
            w.nm(one.torque_nm),
            *_band(one.screw_n, w.kn),
            *_band(one.side_n, w.kn),
            w.nm(one.limit_nm),
            one.limited_by,
        )
        for name, one in result.clamps.items()
    )
    note = (
        "What each clamp's torque gives where nothing else gives way; side is the force of one jaw."
    )
    return Table("Clamps", note, columns, rows)


def passes(result: Result) -> Table:
    columns = (
        Column("clamp", number=False),
        Column("asked", "kN"),
        *(
            Column(f"pass {number} {w.share(part)}", "kN")
            for number, part in enumerate(result.passes, start=1)
        ),
        Column("locked", "kN"),
        Column("kept", "%"),
    )
    rows = tuple(
        (
            name,
            w.kn(one.side_n.usual),
            *map(w.kn, one.after_pass_n),
            w.kn(one.after_lock_n),
            w.plain(100 * one.after_lock_n / one.side_n.usual, 0) if one.side_n.usual else w.NONE,
        )
        for name, one in result.clamps.items()
    )
    note = "Force of one jaw when a pass is done, and when the plate is locked down; usual values."
    return Table("Force after each pass", note, columns, rows)


def readings(result: Result, design: Design) -> Table:
    columns = (
        Column("point", number=False),
        Column("zeroed", number=False),
        Column("read", number=False),
        *_band_columns("", "µm"),
        Column("limits", "µm"),
        Column("verdict", number=False),
    )
    states = {point.id: (point.zero, point.read) for point in design.points}
    rows = tuple(
        (
            name,
            *states.get(name, (w.NONE, w.NONE)),
            *_band(one.reading_um, w.um),
            w.limits_um(one.limit_um),
            one.verdict,
        )
        for name, one in result.points.items()
    )
    return Table("Expected readings", "Bands are 95 % intervals.", columns, rows)


def heights(result: Result) -> Table:
    states = list(dict.fromkeys(s for point in result.points.values() for s in point.state_um))
    columns = (Column("point", number=False), *(Column(state, "µm") for state in states))
    rows = tuple(
        (name, *(w.um(one.state_um.get(state)) for state in states))
        for name, one in result.points.items()
    )
    note = "Above the unloaded plane of the receivers."
    return Table("Heights of the points", note, columns, rows)


def stations(result: Result, design: Design) -> Table:
    heads = ("lift", "tilt about x", "tilt about y", "thickness", "parallelism", "flatness")
    units = ("µm", "µrad", "µrad", "µm", "µm", "µm")
    columns = (Column("station", number=False), *map(Column, heads, units))
    rows = tuple(
        (
            name,
            w.um(one.lift_um),
            w.um(one.tilt_x_urad),
            w.um(one.tilt_y_urad),
            w.um(one.thickness_um),
            w.um(one.parallelism_um),
            w.um(one.flatness_um),
        )
        for name, one in result.stations.items()
    )
    return Table("What the plate does to the part", _tolerances(design), columns, rows)


def holds(result: Result) -> Table:
    columns = (
        Column("station", number=False),
        Column("slip", "times"),
        Column("lift", "times"),
        Column("tip", "times"),
        Column("first to go", number=False),
        Column("in the cut", number=False),
    )
    rows = tuple(
        (
            name,
            *(w.multiple(each) for each in (one.hold.slip, one.hold.lift, one.hold.tip)),
            one.worst or w.NONE,
            one.cut or w.NONE,
        )
        for name, one in result.stations.items()
        if one.cut is not None
    )
    note = "Times the cutting load that is held, at low force and low friction."
    return Table("Estimated hold", note, columns, rows)


def _tolerances(design: Design) -> str:
    given = design.part.tolerance
    named = (
        ("thickness", given.thickness),
        ("parallelism", given.parallelism),
        ("flatness", given.flatness),
    )
    told = [f"{name} {w.um(limit.mm * 1e3)} µm" for name, limit in named if limit is not None]
    first = f"Tolerances of the part: {w.listed(told)}." if told else "The part has no tolerances."
    later = design.part.later_stock.mm * 1e3
    rest = f" Later operations still remove {w.um(later)} µm." if later > 0 else ""
    return f"Torqued and locked. {first}{rest}"


def _band_columns(name: str, unit: str) -> Iterator[Column]:
    return (Column(f"{name} {part}".strip(), unit) for part in ("low", "usual", "high"))


def _band(band: Band | None, told: Callable[[float], str]) -> tuple[str, str, str]:
    if band is None:
        return w.NONE, w.NONE, w.NONE
    return told(band.low), told(band.usual), told(band.high)
