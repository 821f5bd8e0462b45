"""A shop with checkpoints outside, and somebody who may write into its database as he likes."""

from __future__ import annotations

import atexit
import datetime as dt
import json
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from copy import copy
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection

from api.domain.chain import text_hash
from api.domain.proof.examination import entry_of, event_of
from api.domain.proof.rows import link_of
from api.security.checkpoint_file import ShopNotary, open_notary
from api.settings import Settings
from api.storage import rows
from api.storage.engine import Database
from api.storage.triggers import GUARDED_SINCE, names
from api.use_cases.checkpoints import make_checkpoint
from api.use_cases.records import rebuild
from tests.support.filled import filled
from tests.support.script import Tablet
from tests.support.shop import STEPS, Shop, fill_shop, open_shop

Line = dict[str, Any]
Rewrite = Callable[[list[Line]], list[Line]]
TABLES = {"event": "event", "entry": "journal"}


@dataclass
class Place:
    """A data folder whose shop has a signed setup, something set aside, a gap and checkpoints."""

    settings: Settings
    shop: Shop
    notary: ShopNotary
    tablet: Tablet

    @property
    def database(self) -> Database:
        return self.shop.database

    @property
    def folder(self) -> Path:
        return self.settings.checkpoints_folder

    @property
    def file(self) -> Path:
        return self.folder / "checkpoints.jsonl"

    def note(self, text: str) -> None:
        self.tablet.write("note", None, text=text)
        self.shop.push(self.tablet, self.tablet.texts[-1:])

    def checkpoint(self, why: str = "test") -> None:
        self.shop.clock.forward(60)
        make_checkpoint(self.shop.uow, self.shop.means, self.notary, why)


def make_place(url: str, data: Path) -> Place:
    """The shop on a database that does not exist yet; made once, then copied."""
    database = filled(url, _fill)
    engine = database.url.get_backend_name()
    shutil.copytree(_folder(engine), data)
    settings = Settings(data=data, database_url=url)
    shop = open_shop(database, settings.keys)
    wrote = _wrote[engine]
    tablet = copy(wrote[0])
    tablet.texts = list(tablet.texts)
    shop.clock.at = wrote[1]
    notary = open_notary(settings.keys, settings.checkpoints_folder)
    return Place(settings, shop, notary, tablet)


_wrote: dict[str, tuple[Tablet, dt.datetime]] = {}


@cache
def _folder(engine: str) -> Path:
    folder = tempfile.mkdtemp(prefix=f"clampbook-place-{engine}-")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return Path(folder)


def _fill(database: Database) -> None:
    fill_shop(database)
    engine = database.url.get_backend_name()
    settings = Settings(data=_folder(engine))
    shop = open_shop(database, settings.keys)
    notary = open_notary(settings.keys, settings.checkpoints_folder)
    place = Place(settings, shop, notary, shop.tablet())
    tablet = place.tablet
    place.checkpoint("new shop")
    events = [tablet.open(), *tablet.work(STEPS, "sign")]
    shop.push(tablet)
    place.checkpoint("daily")
    shop.sign(tablet, events, "4101")
    shop.push(tablet, [*tablet.texts[-1:], "no event at all"])
    other = shop.tablet("tab-2", setup="01920000-0000-7000-8000-000000000ddd", person="B-02")
    other.open()
    list(other.work(STEPS[:3]))
    shop.push(other, [other.texts[0], *other.texts[2:]])
    place.checkpoint("daily")
    other.write("note", None, text="all well")
    shop.push(other, other.texts[-1:])
    _wrote[engine] = (tablet, shop.clock.at)


@contextmanager
def unguarded(database: Database) -> Iterator[Connection]:
    """A transaction in which nothing is refused; the guards are in place again afterwards."""
    with database.writer.begin() as connection:
        if database.is_sqlite:
            query = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
            guards = connection.execute(sa.text(query)).all()
            for name, _ in guards:
                connection.execute(sa.text(f"DROP TRIGGER {name}"))
            yield connection
            for _, statement in guards:
                connection.execute(sa.text(statement))
        else:
            _switch(connection, "DISABLE")
            yield connection
            _switch(connection, "ENABLE")


def alter(database: Database, *statements: str) -> None:
    with unguarded(database) as connection:
        for statement in statements:
            connection.execute(sa.text(statement))


def rewritten(place: Place, change: Rewrite) -> None:
    """Numbers, hashes and chain made anew over what `change` leaves, with all that hangs on them.

    What needs a private key is left as it is.
    """
    with unguarded(place.database) as connection:
        log = [one for one in rows.lines(connection) if one["line"] in TABLES]
        kept = relinked(change(log))
        for table in ("signature", "reading", "journal", "event"):
            connection.execute(sa.text(f"DELETE FROM {table}"))
        rows.insert(connection, [*kept, *_signatures(kept)])
        _settle(connection, kept)
    rebuild(place.shop.uow)


def relinked(log: list[Line]) -> list[Line]:
    head, made = "0" * 64, []
    for seq, line in enumerate(log, start=1):
        text = line["text" if line["line"] == "event" else "body"]
        fresh = {**line, "seq": seq, "hash": text_hash(text)}
        row = event_of(fresh) if line["line"] == "event" else entry_of(fresh)
        head = link_of(head, row)
        made.append({**fresh, "chain": head})
    return made


def _signatures(log: list[Line]) -> Iterator[Line]:
    events = {one["id"] for one in log if one["line"] == "event"}
    for one in log:
        if one["line"] == "entry" and one["kind"] == "verdict" and one["subject"] in events:
            told = json.loads(one["body"])
            place = {"event": one["subject"], "seq": one["seq"], "retry_at": None}
            yield {"line": "signature", **told, **place}


def _settle(connection: Connection, log: list[Line]) -> None:
    """Counters, tablets and what was set aside as the shorter log has them."""
    events = [one for one in log if one["line"] == "event"]
    kept = {one["subject"] for one in log if one["line"] == "entry" and one["kind"] == "set aside"}
    statement = "UPDATE counter SET value = :seq WHERE name = 'seq'"
    connection.execute(sa.text(statement), {"seq": len(log)})
    for row in connection.execute(sa.text("SELECT hash FROM set_aside")).all():
        if row.hash not in kept:
            delete = sa.text("DELETE FROM set_aside WHERE hash = :hash")
            connection.execute(delete, {"hash": row.hash})
    for row in connection.execute(sa.text("SELECT id FROM tablet")).all():
        numbers = sorted(one["n"] for one in events if one["tablet"] == row.id)
        whole = next((n for n in range(1, len(numbers) + 2) if n not in numbers), 1) - 1
        ends = {"id": row.id, "whole": whole, "highest": max(numbers, default=0)}
        change = "UPDATE tablet SET contiguous = :whole, highest = :highest WHERE id = :id"
        connection.execute(sa.text(change), ends)


def _switch(connection: Connection, way: str) -> None:
    for table in GUARDED_SINCE:
        for name in names(table):
            connection.execute(sa.text(f"ALTER TABLE {table} {way} TRIGGER {name}"))
