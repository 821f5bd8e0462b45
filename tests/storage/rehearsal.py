"""A shop as it stood at an earlier form: its events, verdicts and lists, in the tables of that time."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any
from unittest import mock

import sqlalchemy as sa

from api.domain.chain import NO_PREVIOUS, moment, text_hash
from api.domain.events import at_utc, parse
from api.paths import share
from api.storage import migrate, rows
from api.storage.engine import Database, sqlite_url
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases.proof import project_all
from tests.support import script
from tests.support.shop import STEPS, Shop, make_shop

OLD_SCHEMA = 1
EPOCH = "0191aaaa-0000-4000-8000-000000000001"
RECEIVED = dt.datetime(2026, 11, 24, 8, 30, tzinfo=dt.UTC)
REGISTERS = ("person", "credential", "revision", "plate", "item")
MADE_WITH_TABLES = ("counter", "shop_meta")
Line = dict[str, Any]


def old_tablet() -> script.Tablet:
    """What a tablet of that time wrote: a whole setup with its signature, no key of its own."""
    with mock.patch.object(script, "SCHEMA", OLD_SCHEMA):
        tablet = script.Tablet("tab-old", setup="01920000-0000-7000-8000-00000000001d")
        tablet.open()
        list(tablet.work(STEPS))
        tablet.write("note", None, text="after the signature")
    return tablet


def put_in(database: Database, tablet: script.Tablet, folder: Path) -> None:
    """Fills a database that is at an earlier form."""
    with closing(_today(tablet, folder)) as now:
        found = sa.MetaData()
        with database.writer.begin() as target, now.reader.connect() as source:
            found.reflect(target)
            for table in found.sorted_tables:
                if table.name == "alembic_version":
                    continue
                if table.name in MADE_WITH_TABLES:
                    target.execute(table.delete())
                columns: list[sa.ColumnClause[Any]] = [
                    sa.column(column.name) for column in table.columns
                ]
                kept = source.execute(sa.select(*columns).select_from(sa.table(table.name)))
                for row in kept.mappings().all():
                    target.execute(table.insert().values(_typed(table, dict(row))))
            if target.dialect.name == "postgresql":
                target.execute(sa.text("SELECT setval('set_aside_id_seq', 1)"))


def _typed(table: sa.Table, row: Line) -> Line:
    """SQLite keeps truth as a number."""
    return {
        name: bool(value) if isinstance(table.c[name].type, sa.Boolean) else value
        for name, value in row.items()
    }


def _today(tablet: script.Tablet, folder: Path) -> Database:
    """The same shop in today's tables, from which the columns of that time are taken."""
    shop = make_shop(sqlite_url(folder / "registers.sqlite3"), folder / "keys")
    made = Database(sqlite_url(folder / "today.sqlite3"))
    migrate.upgrade(made, share("migrations"))
    with SqlUnitOfWork(made) as uow:
        rows.insert(uow.connection, _lines(shop, tablet))
        project_all(uow)
        uow.commit()
    shop.database.close()
    return made


def _lines(shop: Shop, tablet: script.Tablet) -> Iterator[Line]:
    log = list(_log(tablet))
    counters = {"seq": log[-1]["seq"], "shop": 7}
    facts = {"name": "Old shop", "epoch": EPOCH}
    yield {"line": "shop", "facts": facts, "counters": counters}
    with shop.reader as uow:
        for line in rows.lines(uow.connection, secrets=True):
            if line["line"] in REGISTERS:
                yield line
    events = [one for one in log if one["line"] == "event"]
    yield _tablet(tablet.name, len(events))
    yield from events
    yield from (one for one in log if one["line"] == "signature")
    yield {
        "line": "set aside",
        "id": 1,
        "hash": text_hash("not an event"),
        "text": "not an event",
        "escaped": False,
        "reason": "The event is not JSON.",
        "tablet": tablet.name,
        "received_at": moment(RECEIVED),
        "sig": None,
    }


def _log(tablet: script.Tablet) -> Iterator[Line]:
    """Each verdict took a number of its own, and left no row with it in the log."""
    seq, chain = 0, NO_PREVIOUS
    for text in tablet.texts:
        event, own = parse(text), text_hash(text)
        seq, chain = seq + 1, text_hash(chain + own)
        columns = ("id", "tablet", "n", "setup", "kind", "step", "person")
        yield {
            "line": "event",
            "seq": seq,
            **{name: getattr(event, name) for name in columns},
            "at": moment(at_utc(event)),
            "received_at": moment(RECEIVED),
            "text": text,
            "hash": own,
            "chain": chain,
            "outcome": "stored",
            "flags": ["after signature"] if event.kind == "note" else [],
            "sig": None,
            "form": 1,
        }
        if event.kind == "signed":
            seq += 1
            yield _verdict(json.loads(text), seq)


def _verdict(event: Line, seq: int) -> Line:
    return {
        "line": "signature",
        "event": event["id"],
        "setup": event["setup"],
        "person": event["person"],
        "meaning": event["data"]["meaning"],
        "verdict": "confirmed",
        "reason": None,
        "seq": seq,
        "retry_at": None,
        "sealed": "",
    }


def _tablet(name: str, count: int) -> Line:
    nothing = ("key", "enrolled_at", "enrolled_by", "revoked_at", "revoked_by", "forked_at")
    return {
        "line": "tablet",
        "id": name,
        "first_seen": moment(RECEIVED),
        "last_seen": moment(RECEIVED),
        "build": "old",
        "contiguous": count,
        "highest": count,
        "name": "",
        **dict.fromkeys(nothing),
    }
