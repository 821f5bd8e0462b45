"""Every row of a shop as it is stored, in one order on both engines; and back into empty tables.

Moments and JSON columns stay the text that they are, so nothing is written anew on the way.
"""

from __future__ import annotations

import heapq
import json
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection

from api.domain.dump import VERSION
from api.domain.errors import BadInput
from api.storage.tables import METADATA, Json, Utc

PER_READ = 500
NOT_KEPT = "probe"
PLAIN: dict[type[Any], tuple[type, ...]] = {
    sa.Boolean: (bool,),
    sa.Integer: (int,),
    sa.Float: (int, float),
    sa.String: (str,),
}
Line = dict[str, Any]
TABLES = {
    "person": "person",
    "credential": "credential",
    "revision": "design_revision",
    "analysis": "analysis",
    "plate": "plate",
    "hold": "plate_hold",
    "item": "store_item",
    "tablet": "tablet",
    "event": "event",
    "entry": "journal",
    "signature": "signature",
    "set aside": "set_aside",
}
"""Kinds of lines in their order, with the tables; events and entries are merged by number."""
BEFORE_LOG = ("person", "credential", "revision", "analysis", "plate", "hold", "item", "tablet")
AFTER_LOG = ("signature", "set aside")
SECRET = "credential"  # noqa: S105 the name of a kind of line
NUMBERED = ("plate_hold", "set_aside")
LEFT_OUT = ("office_session", "enrol_code", "tablet_session", "setup", "reading", "tool_use")
"""What ends by itself, and what is made anew from the log."""


def lines(
    connection: Connection, *, secrets: bool = False, keys: Mapping[str, str] | None = None
) -> Iterator[Line]:
    """The shop, one row after the other, in the transaction that the caller has begun.

    `keys` are public signing keys by name; those that the journal speaks of are told.
    """
    count = 0
    for line in _all(connection, secrets, keys or {}):
        count += 1
        yield line
    yield {"line": "end", "lines": count + 1}


def insert(connection: Connection, found: Iterable[Line]) -> None:
    """Puts the rows of a dump into empty tables exactly as they were, with counters and facts."""
    waiting: dict[str, list[Line]] = {}
    for number, line in enumerate(found, start=1):
        kind = line["line"]
        if kind == "shop":
            _put_facts(connection, line)
        if kind not in TABLES:
            continue
        log = {"event", "entry"}
        if len(waiting.get(kind, ())) >= PER_READ or (waiting.keys() | {kind}) - log - {kind}:
            _flush(connection, waiting)
        waiting.setdefault(kind, []).append(_row(line, kind, number))
    _flush(connection, waiting)
    if connection.dialect.name == "postgresql":
        _go_on_counting(connection)


def is_empty(connection: Connection) -> bool:
    """Whether nobody has put anything into the shop yet."""
    tables = [_table(name) for name in (*TABLES.values(), *LEFT_OUT)]
    return not any(
        connection.execute(sa.select(sa.literal(1)).select_from(table).limit(1)).first()
        for table in tables
    )


def pulls(connection: Connection) -> set[tuple[str, str, int]]:
    """(setup, tool, pulls) as the projection has them."""
    query = sa.select(_table("tool_use"))
    return {(row.setup, row.tool, row.pulls) for row in connection.execute(query)}


def form(connection: Connection) -> str:
    """The form the tables are at."""
    return str(connection.execute(sa.text("SELECT version_num FROM alembic_version")).scalar_one())


def _all(connection: Connection, secrets: bool, keys: Mapping[str, str]) -> Iterator[Line]:
    facts = {line["name"]: line["value"] for line in _of(connection, "shop", "shop_meta")}
    counters = {line["name"]: line["value"] for line in _of(connection, "shop", "counter")}
    facts.pop(NOT_KEPT, None)
    yield {
        "line": "shop",
        "dump": VERSION,
        "form": form(connection),
        "facts": facts,
        "counters": counters,
        "secrets": secrets,
    }
    for name in sorted(_signing_keys(connection) & keys.keys()):
        yield {"line": "signing key", "id": name, "public": keys[name]}
    for kind in BEFORE_LOG:
        if secrets or kind != SECRET:
            yield from _of(connection, kind, TABLES[kind])
    log = (_of(connection, kind, TABLES[kind]) for kind in ("event", "entry"))
    yield from heapq.merge(*log, key=_number)
    for kind in AFTER_LOG:
        yield from _of(connection, kind, TABLES[kind])


def _of(connection: Connection, kind: str, name: str) -> Iterator[Line]:
    """Page by page, so that no cursor stays open while others look at the rows."""
    table = _table(name)
    query = sa.select(table).order_by(*_order(connection, table, name)).limit(PER_READ)
    numbered = "seq" in table.c
    after = 0
    while True:
        page = query.where(table.c.seq > after) if numbered else query.offset(after)
        found = connection.execute(page).mappings().all()
        for row in found:
            yield _told(kind, row)
        if len(found) < PER_READ:
            return
        after = found[-1]["seq"] if numbered else after + PER_READ


def _told(kind: str, row: sa.RowMapping) -> Line:
    line = {"line": kind, **row}
    if kind == "event":
        line["flags"] = json.loads(line["flags"])
    return line


def _order(connection: Connection, table: sa.TableClause, name: str) -> list[sa.ColumnElement[Any]]:
    """By the key; text byte by byte, whatever language the database sorts in."""
    keys = (
        ["seq"] if name == "signature" else [one.name for one in METADATA.tables[name].primary_key]
    )
    columns = [table.c[key] for key in keys]
    if connection.dialect.name == "sqlite":
        return list(columns)
    return [
        column.collate("C") if isinstance(column.type, sa.String) else column for column in columns
    ]


def _number(line: Line) -> int:
    return int(line["seq"])


def _signing_keys(connection: Connection) -> set[str]:
    journal = _table("journal")
    query = sa.select(journal.c.body).where(journal.c.kind.in_(("checkpoint", "restored")))
    return {str(json.loads(row.body).get("key")) for row in connection.execute(query)}


def _table(name: str) -> sa.TableClause:
    """The table with the types its columns are stored in."""
    columns = METADATA.tables[name].columns
    return sa.table(name, *(sa.column(one.name, _plain(one.type)) for one in columns))


def _plain(kind: Any) -> Any:
    return sa.Text() if isinstance(kind, Utc | Json) else kind


def _row(line: Line, kind: str, number: int) -> Line:
    """The line's columns; raises `BadInput` where they are not those of the table."""
    columns = METADATA.tables[TABLES[kind]].columns
    row = {name: value for name, value in line.items() if name != "line"}
    if row.keys() != set(columns.keys()):
        odd = min(row.keys() ^ set(columns.keys()))
        raise BadInput(f"Line {number} ({kind}) has a field '{odd}' too many or too few.")
    if kind == "event":
        row["flags"] = json.dumps(row["flags"], separators=(",", ":"))
    for column in columns:
        if not _fits(row[column.name], column):
            raise BadInput(f"Line {number} ({kind}): '{column.name}' is not of the right kind.")
    return row


def _fits(value: Any, column: sa.Column[Any]) -> bool:
    if value is None:
        return bool(column.nullable)
    kind = _plain(column.type)
    wanted = next((plain for base, plain in PLAIN.items() if isinstance(kind, base)), (str,))
    return isinstance(value, wanted) and (bool in wanted or not isinstance(value, bool))


def _flush(connection: Connection, waiting: dict[str, list[Line]]) -> None:
    for kind, rows in waiting.items():
        if rows:
            connection.execute(sa.insert(_table(TABLES[kind])), rows)
    waiting.clear()


def _put_facts(connection: Connection, shop: Line) -> None:
    for name, pairs in (("shop_meta", shop["facts"]), ("counter", shop["counters"])):
        table = _table(name)
        connection.execute(sa.delete(table).where(table.c.name.in_(list(pairs))))
        rows = [{"name": key, "value": value} for key, value in pairs.items()]
        connection.execute(sa.insert(table), rows)


def _go_on_counting(connection: Connection) -> None:
    """Numbers that the engine gives go on after the highest that was put in."""
    for name in NUMBERED:
        highest = f"(SELECT max(id) FROM {name})"  # noqa: S608
        counter = f"pg_get_serial_sequence('{name}', 'id')"
        connection.execute(
            sa.text(f"SELECT setval({counter}, coalesce({highest}, 1), {highest} IS NOT NULL)")
        )
