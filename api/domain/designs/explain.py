"""Pydantic's errors in words a person can act on: code, message, fix."""

from __future__ import annotations

import difflib
from typing import Any

from pydantic import BaseModel
from pydantic_core import ErrorDetails

from api.domain.designs import document as d

_TABLES: dict[str, type[BaseModel]] = {
    "part": d.Part,
    "plate": d.PlateTable,
    "receivers": d.Receivers,
    "stop": d.Stop,
    "spec": d.Spec,
    "clamp": d.Clamp,
    "station": d.Station,
    "point": d.Point,
    "cut": d.Cut,
    "tightening": d.Tightening,
    "care": d.Care,
    "time": d.Times,
    "tolerance": d.PartTolerance,
    "pocket": d.Pocket,
    "pad": d.Pad,
    "rated": d.Rated,
}
_KINDS = {
    "string_type": "a text",
    "int_type": "a whole number",
    "float_type": "a number",
    "bool_type": "true or false",
    "list_type": "a list",
    "tuple_type": "a list",
    "dict_type": "a table",
    "model_type": "a table",
    "model_attributes_type": "a table",
}


def explain(error: ErrorDetails) -> tuple[str, str, str]:
    """Code, message and fix for one validation error."""
    kind, context = error["type"], error.get("ctx", {})
    name = str(error["loc"][-1]) if error["loc"] else "the file"
    if kind == "clampbook":
        return str(context["code"]), str(context["message"]), str(context["fix"])
    if kind == "missing":
        return _missing(error["loc"], name)
    if kind == "extra_forbidden":
        return _unknown(error["loc"], name)
    if kind in _KINDS:
        return (
            "wrong-kind",
            f"{name} is {_shown(error['input'])}, but {_KINDS[kind]} is due",
            f"write {_KINDS[kind]} for {name}",
        )
    if kind == "literal_error":
        return "not-a-choice", f"{name} is {_shown(error['input'])}", f"write {context['expected']}"
    if kind == "string_pattern_mismatch":
        return (
            "bad-name",
            f"{name} is {_shown(error['input'])}, which cannot be a name here",
            _name_rule(name),
        )
    return "out-of-range", f"{name} is {_shown(error['input'])}", _range(kind, context)


def _missing(loc: tuple[str | int, ...], name: str) -> tuple[str, str, str]:
    if isinstance(loc[-1], int):
        return (
            "missing",
            f"value {loc[-1] + 1} of {loc[-2]} is missing",
            f"give {loc[-2]} all its values",
        )
    if len(loc) == 1 and name in _TABLES:
        header = f"[[{name}]]" if name in {"clamp", "station"} else f"[{name}]"
        return "missing", f"the file has no {header}", f"add a table {header}"
    return "missing", f"{name} is missing", f"add a line '{name} = ...' to this table"


def _unknown(loc: tuple[str | int, ...], name: str) -> tuple[str, str, str]:
    known = _known(loc)
    near = difflib.get_close_matches(name[:40], known, n=1)
    fix = (
        f"write {near[0]}, or take it out"
        if near
        else f"take it out; known here: {', '.join(known)}"
    )
    return "unknown-field", f"{name[:40]} is not a field known here", fix


def _known(loc: tuple[str | int, ...]) -> list[str]:
    names = [part for part in loc[:-1] if isinstance(part, str)]
    model = _TABLES.get(names[-1], d.Design) if names else d.Design
    return [info.alias or field for field, info in model.model_fields.items()]


def _name_rule(name: str) -> str:
    match name:
        case "code":
            return "write capital letters, digits and hyphens, for example SAD-20"
        case "revision":
            return "write a capital letter or a number, for example B"
        case "title" | "name" | "number" | "source" | "thread":
            return "write 1 to 120 characters on one line"
        case _:
            return "write letters, digits, '-', '_' or '.', at most 40, for example C1"


def _range(kind: str, context: dict[str, Any]) -> str:
    words = {
        "greater_than": "above {gt}",
        "greater_than_equal": "at least {ge}",
        "less_than": "below {lt}",
        "less_than_equal": "at most {le}",
        "too_short": "at least {min_length} of them",
        "too_long": "at most {max_length} of them",
    }
    if kind in words:
        return f"give {words[kind].format(**context)}"
    return "give a sensible value"


def _shown(value: object) -> str:
    match value:
        case bool():
            return str(value).lower()
        case str():
            return f"'{value[:40]}'"
        case int() | float():
            return f"{value:.6g}"
        case list() | tuple():
            return f"a list of {len(value)}"
        case dict():
            return "a table"
        case _:
            return f"'{str(value)[:40]}'"
