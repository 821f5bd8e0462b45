"""The plan of steps as groups of rows, with the same numbers on every page and print."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from api.routes.office.formatting import number
from api.routes.office.logbook.telling import part_of
from api.routes.office.logbook.words import step_words

SettingOf = Callable[[dict[str, Any]], str]


@dataclass(frozen=True)
class StepRow:
    """`number` counts through the whole plan, whether or not a setup asks for every step."""

    number: int
    id: str
    what: str
    target: str
    when: str
    writes: str = ""


@dataclass(frozen=True)
class StepGroup:
    title: str
    steps: list[StepRow]
    hint: str = ""


def newton_metres(step: dict[str, Any]) -> str:
    target = step["target"]
    return f"{number(target['value'], 2)} N·m" if target else ""


def rows_of(steps: Iterable[dict[str, Any]], setting: SettingOf = newton_metres) -> list[StepRow]:
    """`setting` says how a torque target reads, for a tool with another unit."""
    return [
        StepRow(
            index, step["id"], step_words(step), _target(step, setting), _when(step), _writes(step)
        )
        for index, step in enumerate(steps, start=1)
    ]


def groups_of(rows: Iterable[StepRow], hints: dict[str, str] | None = None) -> list[StepGroup]:
    """Runs of rows that belong together, in the order of the plan."""
    groups: list[StepGroup] = []
    for row in rows:
        title = part_of(row.id)
        if not groups or groups[-1].title != title:
            groups.append(StepGroup(title, [], (hints or {}).get(title, "")))
        groups[-1].steps.append(row)
    return groups


def pass_hints(passes: Iterable[float]) -> dict[str, str]:
    return {
        f"Pass {index}": f"{number(share * 100, 1)} % of full torque, clamp by clamp"
        for index, share in enumerate(passes, start=1)
    }


def _target(step: dict[str, Any], setting: SettingOf) -> str:
    if step["target"]:
        return setting(step)
    bounds, expected = step["limits"], step.get("expected")
    if not bounds:
        return ""
    said = f"{number(bounds['low'])} to {number(bounds['high'])} mm"
    return f"{said}, estimated {number(expected['usual_mm'])} mm" if expected else said


def _when(step: dict[str, Any]) -> str:
    words = {
        "grease due": "when grease is due",
        "baseline due": "when a baseline is due",
        "second touch": "if chosen for a second touch",
    }
    return words.get(step["when"] or "", "always")


def _writes(step: dict[str, Any]) -> str:
    """The unit of the value to write down on paper; empty where a tick is enough."""
    return "mm or in" if step["kind"] == "read" else ""
