"""The five shelves of the stores, and how an item reads on a page."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from api.domain.errors import NotFound
from api.domain.stores import (
    AnyItem,
    Grease,
    Indicator,
    ItemKind,
    Material,
    StoredSpec,
    TorqueTool,
    key_of,
)
from api.routes.office.formatting import count, day, number, unit
from api.use_cases.stores import StoredItem

SOON_DAYS = 30


@dataclass(frozen=True)
class Shelf:
    kind: ItemKind
    one: str
    many: str
    key_word: str

    @property
    def One(self) -> str:  # noqa: N802 - read by templates beside `one`
        bare = self.one.removeprefix("a ").removeprefix("an ")
        return bare[:1].upper() + bare[1:]


SHELVES: dict[str, Shelf] = {
    "tool": Shelf("tool", "a torque tool", "Torque tools", "serial"),
    "indicator": Shelf("indicator", "an indicator", "Indicators", "serial"),
    "grease": Shelf("grease", "a grease", "Greases", "id"),
    "spec": Shelf("spec", "a clamp spec", "Clamp specs", "id"),
    "material": Shelf("material", "a material", "Materials", "id"),
}


@dataclass(frozen=True)
class Cell:
    text: str
    under: str = ""
    tone: str = ""


@dataclass(frozen=True)
class Column:
    name: str
    tone: str = ""


@dataclass(frozen=True)
class StateLine:
    """A word on the item's state; its shape stands before its colour."""

    text: str
    shape: str = ""
    tone: str = ""


@dataclass(frozen=True)
class Row:
    key: str
    cells: list[Cell]
    state: list[StateLine]
    withdrawn: bool


def shelf_of(kind: str) -> Shelf:
    if kind not in SHELVES:
        names = ", ".join(shelf.many.lower() for shelf in SHELVES.values())
        raise NotFound(
            f"The stores have no shelf '{kind[:40]}'. There are: {names}.", kind=kind[:40]
        )
    return SHELVES[kind]


COLUMNS: dict[str, list[Column]] = {
    "tool": [
        Column("Serial"),
        Column("Tool"),
        Column("Range", "n medium"),
        Column("Graduation", "n wide"),
        Column("Pulls since calibration", "n medium"),
        Column("Due"),
    ],
    "indicator": [
        Column("Serial"),
        Column("Indicator"),
        Column("Graduation", "n"),
        Column("One turn", "n wide"),
        Column("Travel", "n wide"),
        Column("Due"),
    ],
    "grease": [Column("Id"), Column("Grease"), Column("Friction", "n"), Column("Source", "wide")],
    "spec": [
        Column("Id"),
        Column("Clamp spec"),
        Column("Thread", "medium"),
        Column("Rated", "n"),
        Column("Source", "wide"),
    ],
    "material": [
        Column("Id"),
        Column("Material"),
        Column("Stiffness E", "n medium"),
        Column("Density", "n medium"),
        Column("Yield", "n"),
        Column("Source", "wide"),
    ],
}


def row_of(stored: StoredItem, today: dt.date) -> Row:
    item = stored.item
    return Row(
        key_of(item),
        _cells(item, stored.pulls),
        state_of(item, stored.pulls, today),
        item.state == "withdrawn",
    )


def _cells(item: AnyItem, pulls: int | None) -> list[Cell]:
    key = Cell(key_of(item))
    match item:
        case TorqueTool():
            span = f"{number(item.low)} to {number(item.high)} {unit(item.unit)}"
            used = f"{pulls or 0} of {item.pulls_limit}"
            return [
                key,
                Cell(item.title, f"{item.kind}{', with offset adapter' if item.adapter else ''}"),
                Cell(span, tone="n medium"),
                Cell(f"{number(item.graduation, 4)} {unit(item.unit)}", tone="n wide"),
                Cell(used, tone="n medium"),
                Cell(day(item.due)),
            ]
        case Indicator():
            lengths = [f"{number(value, 5)} {item.unit}" for value in (item.per_turn, item.travel)]
            return [
                key,
                Cell(item.title, item.kind),
                Cell(f"{number(item.graduation, 5)} {item.unit}", tone="n"),
                *(Cell(text, tone="n wide") for text in lengths),
                Cell(day(item.due)),
            ]
        case Grease():
            return [
                key,
                Cell(item.title),
                Cell(friction_words(item), tone="n"),
                Cell(item.source, tone="wide"),
            ]
        case StoredSpec():
            rated = item.document.get("rated") or {}
            return [
                key,
                Cell(item.title, str(item.document.get("kind", ""))),
                Cell(str(item.document.get("thread", "not given")), tone="medium"),
                Cell(spelled(str(rated.get("torque", "not given"))), tone="n"),
                Cell(item.source, tone="wide"),
            ]
        case Material():
            return [
                key,
                Cell(item.title),
                Cell(f"{number(item.e_gpa)} GPa", tone="n medium"),
                Cell(f"{number(item.density_kg_m3)} kg/m³", tone="n medium"),
                Cell(f"{number(item.yield_mpa)} MPa", tone="n"),
                Cell(item.source, tone="wide"),
            ]


def state_of(item: AnyItem, pulls: int | None, today: dt.date) -> list[StateLine]:
    """Withdrawn, overdue by date or by pulls, due soon; or simply in use."""
    if item.state == "withdrawn":
        return [StateLine("withdrawn", "cross", "is-withdrawn")]
    lines = _due_lines(item.due, today) if isinstance(item, TorqueTool | Indicator) else []
    if isinstance(item, TorqueTool) and (pulls or 0) >= item.pulls_limit:
        lines.append(StateLine("overdue by pulls", "triangle", "is-held"))
    return lines or [StateLine("in use", "ring")]


def _due_lines(due: dt.date, today: dt.date) -> list[StateLine]:
    left = (due - today).days
    if left < 0:
        return [StateLine(f"overdue since {day(due)}", "triangle", "is-held")]
    if left <= SOON_DAYS:
        return [
            StateLine(
                "due today" if left == 0 else f"due in {count(left, 'day')}", "diamond", "is-rework"
            )
        ]
    return []


def friction_words(grease: Grease) -> str:
    friction = grease.friction
    return f"{number(friction.low)} to {number(friction.high)}, usually {number(friction.usual)}"


def spelled(quantity: str) -> str:
    value, _, name = quantity.partition(" ")
    return f"{value} {unit(name)}" if name else quantity
