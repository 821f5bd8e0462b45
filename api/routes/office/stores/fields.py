"""The form of each shelf: its fields, and the body an item is checked from."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from pydantic import ValidationError

from api.domain.designs.document import Spec
from api.domain.stores import MODELS, AnyItem, ItemKind
from api.routes.office.forms import Form

Choices = list[tuple[str, str]]


@dataclass(frozen=True)
class Field:
    """One input; `name` may have a dot for a value inside a table of the item."""

    name: str
    label: str
    hint: str = ""
    type: str = "text"
    choices: Choices = field(default_factory=list)
    required: bool = False
    area: int = 0
    attrs: dict[str, str] = field(default_factory=dict)


def _number(name: str, label: str, hint: str = "", *, required: bool = True) -> Field:
    return Field(name, label, hint, required=required, attrs={"inputmode": "decimal", "class": "n"})


def _choice(name: str, label: str, *values: str) -> Field:
    spelled = {"N*m": "N·m", "lbf*in": "lbf·in", "lbf*ft": "lbf·ft", "": "not given"}
    return Field(name, label, choices=[(value, spelled.get(value, value)) for value in values])


_SERIAL = Field("serial", "Serial", "letters, digits, hyphens", required=True)
_ID = Field("id", "Id", "letters, digits, hyphens", required=True)
_TITLE = Field("title", "Title", required=True)
_NOTE = Field("note", "Note", "optional", area=2)
_SOURCE = Field("source", "Source", "where the values come from", required=True)
_QUANTITY = 'with its unit, like "14 mm"'

FIELDS: dict[ItemKind, list[list[Field]]] = {
    "tool": [
        [_SERIAL, _TITLE],
        [
            _choice("kind", "Kind", "click", "slip", "reading"),
            _choice("unit", "Unit on the tool", "N*m", "lbf*in", "lbf*ft"),
        ],
        [
            _number("low", "Range from"),
            _number("high", "Range to"),
            _number("graduation", "Graduation"),
        ],
        [
            Field("calibrated", "Calibrated", type="date", required=True),
            Field("due", "Due", type="date", required=True),
        ],
        [
            _number("pulls_limit", "Pulls until due"),
            _number("pulls_before", "Pulls before", "since calibration, not in these records"),
        ],
        [
            _number(
                "adapter.length_mm",
                "Offset adapter, mm",
                "leave both empty without one",
                required=False,
            ),
            _number(
                "adapter.wrench_length_mm",
                "Wrench length, mm",
                "to the drive's axis",
                required=False,
            ),
        ],
        [_NOTE],
    ],
    "indicator": [
        [_SERIAL, _TITLE],
        [_choice("kind", "Kind", "dial", "lever"), _choice("unit", "Unit on the face", "mm", "in")],
        [
            _number("graduation", "Graduation"),
            _number("per_turn", "One turn"),
            _number("travel", "Travel"),
        ],
        [
            _choice("plus", "Plus when the stylus moves", "up", "down"),
            _number("stylus_deg", "Stylus angle, degrees", "for a lever type"),
        ],
        [Field("due", "Due", type="date", required=True)],
        [_NOTE],
    ],
    "grease": [
        [_ID, _TITLE],
        [
            _number("friction.low", "Friction, low"),
            _number("friction.usual", "usual"),
            _number("friction.high", "high"),
        ],
        [_SOURCE],
    ],
    "spec": [
        [_ID, _TITLE],
        [
            _choice("document.kind", "Kind", "cone", "wedge", "twin", "measured"),
            Field("document.thread", "Thread", "like M8 or 5/16-18"),
            _choice("document.strength", "Strength class", "", "8.8", "10.9", "12.9", "A574"),
        ],
        [
            Field("document.half_angle", "Half angle", 'like "10 deg"'),
            Field("document.contact_radius", "Contact radius", _QUANTITY),
            Field("document.engagement", "Thread in the plate", _QUANTITY),
        ],
        [
            Field("document.lubricant", "Grease", "its id in the stores"),
            Field("document.stiffness", "Side stiffness", 'like "60 kN/mm"; optional'),
        ],
        [
            Field("document.rated.torque", "Rated torque", 'like "15 N*m"'),
            Field("document.rated.force", "Rated force", 'like "9 kN"; optional'),
        ],
        [
            Field(
                "document.force",
                "Measured side force",
                'for kind measured: a line each, like "5 N*m, 2.6 kN"',
                area=4,
            ),
            Field("document.scatter", "Scatter", 'for kind measured, like "15 %"'),
        ],
        [_SOURCE],
    ],
    "material": [
        [_ID, _TITLE],
        [_number("e_gpa", "Stiffness E, GPa"), _number("nu", "Poisson's ratio")],
        [_number("density_kg_m3", "Density, kg/m³"), _number("yield_mpa", "Yield, MPa")],
        [
            _number(
                "kc11_mpa",
                "Specific cutting force, MPa",
                "where parts are cut from it",
                required=False,
            ),
            _number("mc", "Its exponent", required=False),
        ],
        [_SOURCE],
    ],
}
STARTS: dict[ItemKind, dict[str, str]] = {
    "tool": {"pulls_limit": "5000", "pulls_before": "0"},
    "indicator": {"stylus_deg": "0"},
    "grease": {},
    "spec": {},
    "material": {},
}


def rows_for(kind: ItemKind, *, with_key: bool) -> list[list[Field]]:
    """The rows of inputs; an item that exists keeps its key."""
    rows = FIELDS[kind]
    return (
        rows if with_key else [[f for f in row if f.name not in ("serial", "id")] for row in rows]
    )


def names(kind: ItemKind) -> Iterator[str]:
    return (one.name for row in FIELDS[kind] for one in row)


def body_of(kind: ItemKind, form: Form) -> dict[str, Any]:
    """The item's body from what was typed; empty fields are left out."""
    body: dict[str, Any] = {"document": {}} if kind == "spec" else {}
    for name in names(kind):
        text = form.text(name)
        if text:
            *tables, last = name.split(".")
            inner = body
            for table in tables:
                inner = inner.setdefault(table, {})
            inner[last] = _pairs(text) if name == "document.force" else text
    return body


def _pairs(text: str) -> list[list[str]]:
    return [
        [part.strip() for part in line.split(",")] for line in text.splitlines() if line.strip()
    ]


def typed(kind: ItemKind, body: dict[str, Any]) -> dict[str, str]:
    """The stored body as the text of its inputs."""
    values: dict[str, str] = {}
    for name in names(kind):
        inner: Any = body
        for part in name.split("."):
            inner = inner.get(part) if isinstance(inner, dict) else None
        if isinstance(inner, list):
            inner = "\n".join(", ".join(str(value) for value in pair) for pair in inner)
        if inner is not None:
            values[name] = f"{inner:g}" if isinstance(inner, float) else str(inner)
    return values


def checked(kind: ItemKind, form: Form) -> AnyItem | None:
    """The item the form describes, or None with a message at each field that is wrong."""
    form.labels = {one.name: one.label for row in FIELDS[kind] for one in row}
    body = body_of(kind, form)
    item: AnyItem | None = None
    try:
        item = MODELS[kind].model_validate(body)
    except ValidationError as problem:
        form.refuse_all(problem)
    if kind == "spec":
        _check_spec(body, form)
    return item if form.fine else None


def _check_spec(body: dict[str, Any], form: Form) -> None:
    """The table as the design file's own models read it."""
    try:
        Spec.model_validate({"id": body.get("id") or "spec", **body["document"]})
    except ValidationError as problem:
        for error in problem.errors():
            context = error.get("ctx") or {}
            words = [context[part] for part in ("message", "fix") if part in context]
            place = ".".join(str(part) for part in error["loc"] if isinstance(part, str))
            message = "; ".join(words) if words else error["msg"]
            form.refuse(
                f"document.{place}" if place else "", f"{message[:1].upper()}{message[1:]}."
            )
