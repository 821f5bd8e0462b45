"""A design's document -> TOML text that reads back as the same document.

Tables stand in the order of the form, one `[[table]]` per stop, spec, clamp and so on; what lies
deeper is written inline. Comments of the first file are not part of the document.
"""

from __future__ import annotations

from typing import Any

import tomlkit
from tomlkit.items import AoT, Array, InlineTable, Item, Table

ORDER = (
    "format",
    "code",
    "revision",
    "title",
    "part",
    "plate",
    "receivers",
    "stop",
    "spec",
    "clamp",
    "station",
    "point",
    "cut",
    "tightening",
    "care",
    "time",
)


def write_design(document: dict[str, Any]) -> str:
    """TOML text; `tomllib.loads` of it equals `document`."""
    written = tomlkit.document()
    for key in sorted(document, key=_rank):
        if not isinstance(document[key], dict) and not _is_tables(document[key]):
            written.add(key, _inline(document[key]))
    for key in sorted(document, key=_rank):
        if isinstance(document[key], dict):
            written.add(key, _table(document[key]))
        elif _is_tables(document[key]):
            written.append(key, _tables(document[key]))
    return tomlkit.dumps(written)


def _rank(key: str) -> tuple[int, str]:
    return (ORDER.index(key) if key in ORDER else len(ORDER), key)


def _is_tables(value: object) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(each, dict) for each in value)


def _tables(values: list[dict[str, Any]]) -> AoT:
    return AoT([_table(value) for value in values])


def _table(values: dict[str, Any]) -> Table:
    table = tomlkit.table()
    for key, value in values.items():
        table.add(key, _inline(value))
    return table


def _inline(value: Any) -> Item:
    match value:
        case dict():
            return _inline_table(value)
        case list():
            return _array(value)
        case _:
            item: Item = tomlkit.item(value)
            return item


def _inline_table(values: dict[str, Any]) -> InlineTable:
    table = tomlkit.inline_table()
    for key, value in values.items():
        table.add(key, _inline(value))
    return table


def _array(values: list[Any]) -> Array:
    array = tomlkit.array()
    for value in values:
        array.append(_inline(value))
    return array
