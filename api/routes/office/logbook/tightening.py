"""Torque at each clamp, pass by pass: the value that counts now, who set it, and movers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from api.domain.records import StoredEvent
from api.domain.setups import Setup
from api.routes.office.logbook.telling import data_of
from api.routes.office.logbook.words import amount

EMPTY = "open"


@dataclass(frozen=True)
class Cell:
    text: str
    by: str = ""
    moved: bool = False


@dataclass(frozen=True)
class ClampRow:
    id: str
    cells: list[Cell]


@dataclass(frozen=True)
class Tightening:
    columns: list[str]
    rows: list[ClampRow]


def tightening_of(setup: Setup, events: Sequence[StoredEvent]) -> Tightening:
    """One row for each clamp in the order of tightening, one column for each pass."""
    by_id = {event.id: event for event in events}
    groups: dict[str, str] = {}
    clamps: dict[str, dict[str, Cell]] = {}
    for step in setup.plan:
        group = _group(step)
        if group is None:
            continue
        groups.setdefault(*group)
        clamps.setdefault(step["subject"]["id"], {})[group[0]] = _cell(setup, step["id"], by_id)
    rows = [
        ClampRow(clamp, [cells.get(group, Cell("")) for group in groups])
        for clamp, cells in clamps.items()
    ]
    return Tightening(list(groups.values()), rows)


def _group(step: dict[str, Any]) -> tuple[str, str] | None:
    match step["kind"]:
        case "torque":
            return f"torque/{step['pass']}", f"Pass {step['pass']}"
        case "recheck":
            return "recheck", "Re-check"
        case "touch":
            return "touch", "Second touch"
        case _:
            return None


def _cell(setup: Setup, step_id: str, by_id: dict[str, StoredEvent]) -> Cell:
    status = setup.steps.get(step_id)
    event = by_id.get(status.event or "") if status else None
    if status is None or event is None or status.state == "open":
        return Cell(EMPTY)
    data = data_of(event)
    who = event.person or "nobody"
    if event.kind == "clamp moved on re-check" or status.state == "moved":
        return Cell(f"moved {amount(data.get('set'))}".strip(), who, moved=True)
    if status.state != "done":
        return Cell(status.state, who, moved=True)
    return Cell(amount(data.get("set")) or "held", who)
