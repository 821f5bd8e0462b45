"""A JSON text field by field, for people who want to read what a tablet sent."""

from __future__ import annotations

import json
from collections.abc import Iterator
from itertools import islice
from typing import Any

from api.domain.records import SetAside

MOST_FIELDS = 200
LONGEST = 400
DEEPEST = 20
Fields = list[tuple[str, str]]


def fields_of(aside: SetAside) -> Fields:
    """Nothing where the text is no JSON object; of a very long one the beginning."""
    try:
        value = json.loads(aside.text)
        if aside.escaped:
            value = json.loads(value)
    except (ValueError, RecursionError):
        return []
    return list(islice(_leaves(value, ""), MOST_FIELDS)) if isinstance(value, dict) else []


def _leaves(value: Any, path: str, depth: int = 0) -> Iterator[tuple[str, str]]:
    """Objects and lists of objects down to what they hold; plain lists in one line."""
    if depth < DEEPEST and isinstance(value, dict) and value:
        for name, inner in value.items():
            yield from _leaves(inner, f"{path}.{name}" if path else name, depth + 1)
    elif depth < DEEPEST and isinstance(value, list) and any(_holds(one) for one in value):
        for place, inner in enumerate(value, start=1):
            yield from _leaves(inner, f"{path}.{place}", depth + 1)
    else:
        yield shown(path), shown(_leaf(value, depth))


def _leaf(value: Any, depth: int) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if value is None:
        return "nothing"
    if value in ([], {}):
        return "empty"
    if isinstance(value, list) and not any(_holds(one) for one in value):
        return ", ".join(_leaf(one, depth + 1) for one in value)
    return "more, nested too deep to show here" if _holds(value) else str(value)


def _holds(value: Any) -> bool:
    return isinstance(value, dict | list) and bool(value)


def shown(text: str) -> str:
    """What a page can hold of it: the unprintable as escapes, the very long cut."""
    short = text[:LONGEST] + (" ..." if len(text) > LONGEST else "")
    return "".join(
        char if char.isprintable() else char.encode("unicode_escape").decode() for char in short
    )
