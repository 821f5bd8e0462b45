"""An item of the stores as its own page shows it: every field in words, and what versions changed."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from api.domain.stores import AnyItem, Grease, Indicator, Material, StoredSpec, TorqueTool
from api.routes.office.formatting import day, number, unit
from api.routes.office.stores.shelves import friction_words, spelled


@dataclass(frozen=True)
class Fact:
    name: str
    text: str


@dataclass(frozen=True)
class Reading:
    """An item as its own page shows it."""

    title: str
    facts: list[Fact] = field(default_factory=list)


def reading_of(item: AnyItem, pulls: int | None) -> Reading:
    """Every field of the item in words, in the order a person asks for them."""
    return Reading(item.title, [Fact(name, text) for name, text in _facts(item, pulls) if text])


def _facts(item: AnyItem, pulls: int | None) -> list[tuple[str, str]]:
    match item:
        case TorqueTool():
            return _tool_facts(item, pulls or 0)
        case Indicator():
            return [
                ("Kind", item.kind),
                ("Graduation", f"{number(item.graduation, 5)} {item.unit}"),
                ("One turn", f"{number(item.per_turn, 5)} {item.unit}"),
                ("Travel", f"{number(item.travel, 5)} {item.unit}"),
                ("Plus means", f"the stylus moves {item.plus}"),
                ("Stylus angle", f"{number(item.stylus_deg, 1)}°" if item.kind == "lever" else ""),
                ("Due", day(item.due)),
                ("Note", item.note),
            ]
        case Grease():
            return [("Friction", friction_words(item)), ("Source", item.source)]
        case StoredSpec():
            return [*_document_facts(item.document), ("Source", item.source)]
        case Material():
            return [
                ("Stiffness E", f"{number(item.e_gpa)} GPa"),
                ("Poisson's ratio", number(item.nu)),
                ("Density", f"{number(item.density_kg_m3)} kg/m³"),
                ("Yield", f"{number(item.yield_mpa)} MPa"),
                ("Specific cutting force", f"{number(item.kc11_mpa)} MPa" if item.kc11_mpa else ""),
                ("Its exponent", number(item.mc) if item.mc else ""),
                ("Source", item.source),
            ]


def _tool_facts(tool: TorqueTool, pulls: int) -> list[tuple[str, str]]:
    name, adapter = unit(tool.unit), tool.adapter
    offset = (
        adapter
        and f"{number(adapter.length_mm)} mm on a {number(adapter.wrench_length_mm)} mm wrench"
    )
    return [
        ("Kind", tool.kind),
        ("Range", f"{number(tool.low)} to {number(tool.high)} {name}"),
        ("Graduation", f"{number(tool.graduation, 4)} {name}"),
        ("Calibrated", day(tool.calibrated)),
        ("Due", day(tool.due)),
        ("Pulls since calibration", f"{pulls} of {tool.pulls_limit}"),
        ("Offset adapter", offset or "none"),
        ("Note", tool.note),
    ]


def _document_facts(document: dict[str, Any]) -> list[tuple[str, str]]:
    facts: list[tuple[str, str]] = []
    for name, value in document.items():
        if name in ("id", "title"):
            continue
        label = name.replace("_", " ").capitalize()
        if isinstance(value, dict):
            facts += [(f"{label}, {key}", spelled(str(inner))) for key, inner in value.items()]
        elif isinstance(value, list):
            facts.append(
                (label, "; ".join(" gives ".join(spelled(str(v)) for v in pair) for pair in value))
            )
        else:
            facts.append((label, spelled(str(value))))
    return facts


def changes(before: dict[str, Any] | None, after: dict[str, Any]) -> list[str]:
    """What a version changed, field by field."""
    if before is None:
        return ["added"]
    names = [name for name in {**before, **after} if before.get(name) != after.get(name)]
    return [
        f"{name.replace('_', ' ')}: {_shown(before.get(name))} became {_shown(after.get(name))}"
        for name in names
    ]


def _shown(value: object) -> str:
    if value in (None, ""):
        return "nothing"
    if isinstance(value, dict):
        return ", ".join(f"{key} {_shown(inner)}" for key, inner in value.items())
    return str(value)
