"""What the demonstration shop is made of, read from the seed files; their days count from today."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from api.domain.people import Person, Role
from api.domain.plates import Plate
from api.domain.stores import MODELS, ItemKind, Stores

KINDS: tuple[ItemKind, ...] = ("grease", "material", "spec", "tool", "indicator")


@dataclass(frozen=True)
class Change:
    """A new version of an item that a lead saves later."""

    kind: ItemKind
    body: dict[str, Any]
    days: int


@dataclass(frozen=True)
class DemoPerson:
    """A badge with its demonstration PIN and password."""

    person: Person
    pin: str
    password: str


def demo_stores(folder: Path, today: dt.date) -> Stores:
    """The demonstration shop's stores as they stand today, for checking a design without a shop."""
    bodies: dict[str, dict[str, Any]] = {f"{kind}s": {} for kind in MODELS}
    for kind in KINDS:
        changed = (one.body for one in changes(folder, kind, today))
        for body in (*items(folder, kind, today), *changed):
            bodies[f"{kind}s"][body.get("serial") or body["id"]] = body
    return Stores.model_validate(bodies)


def items(folder: Path, kind: ItemKind, today: dt.date) -> list[dict[str, Any]]:
    """The items of one kind as they were when the shop began."""
    return [_dated(_without_change(raw), today) for raw in _read(folder, kind)]


def changes(folder: Path, kind: ItemKind, today: dt.date) -> list[Change]:
    """What leads changed of these items since."""
    return [
        Change(
            kind,
            _dated(
                _without_change(raw) | {k: v for k, v in raw["then"].items() if k != "days"}, today
            ),
            raw["then"]["days"],
        )
        for raw in _read(folder, kind)
        if "then" in raw
    ]


def demo_people(folder: Path) -> list[DemoPerson]:
    """Everybody of the demonstration shop; their secrets are public."""
    return [
        DemoPerson(Person(badge=one["badge"], role=Role(one["role"])), one["pin"], one["password"])
        for one in _list(folder / "people.json", "people")
    ]


def demo_plates(folder: Path) -> list[Plate]:
    return [Plate.model_validate(one) for one in _list(folder / "plates.json", "plates")]


def demo_designs(folder: Path) -> list[Path]:
    """The design files, every design's revisions in their order."""
    return sorted((folder / "designs").glob("*.toml"))


def _read(folder: Path, kind: ItemKind) -> list[dict[str, Any]]:
    return _list(folder / f"{kind}s.json", f"{kind}s")


def _list(path: Path, name: str) -> list[dict[str, Any]]:
    content = json.loads(path.read_text(encoding="utf-8"))
    found: list[dict[str, Any]] = content[name] if isinstance(content, dict) else content
    return found


def _without_change(raw: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in raw.items() if name != "then"}


def _dated(raw: dict[str, Any], today: dt.date) -> dict[str, Any]:
    """`due_days: 20` becomes `due` twenty days from today, as text."""
    return {
        name.removesuffix("_days"): (today + dt.timedelta(days=value)).isoformat()
        if name.endswith("_days")
        else value
        for name, value in raw.items()
    }
