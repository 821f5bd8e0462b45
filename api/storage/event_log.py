"""The append-only log: sequence, chain, tablets, and what was set aside."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Iterable
from dataclasses import fields, replace

from sqlalchemy import insert, update
from sqlmodel import Session, col, func, select

from api.domain.events import NO_PREVIOUS
from api.domain.records import Page, SetAside, StoredEvent, Tablet
from api.storage.mapping import parts, put, table_of, to_row, to_value
from api.storage.queries.shop import count_up, counted
from api.storage.tables import CounterRow, EventRow, SetAsideRow, TabletRow

INSERT = insert(table_of(EventRow))


def linked(previous_chain: str, event_hash: str) -> str:
    """The chain value of an event: SHA-256 over the previous chain value and the event's hash."""
    return hashlib.sha256((previous_chain + event_hash).encode()).hexdigest()


class SqlEventLog:
    def __init__(self, session: Session) -> None:
        self._session = session
        self._chain: str | None = None

    def lock(self) -> None:
        """On SQLite the writer holds the whole file already; elsewhere the counter row is the lock."""
        self._session.exec(
            select(CounterRow).where(CounterRow.name == "seq").with_for_update()
        ).one()

    def head(self) -> int:
        return counted(self._session, "seq")

    def find(self, event_id: str) -> StoredEvent | None:
        return self._one(select(EventRow).where(EventRow.id == event_id))

    def at(self, tablet: str, n: int) -> StoredEvent | None:
        return self._one(select(EventRow).where(EventRow.tablet == tablet, EventRow.n == n))

    def append(self, event: StoredEvent) -> StoredEvent:
        seq = count_up(self._session, "seq")
        stored = replace(event, seq=seq, chain=linked(self._last_chain(), event.hash))
        row = {one.name: getattr(stored, one.name) for one in fields(stored)}
        self._session.connection().execute(INSERT, row | {"outcome": "stored"})
        self._chain = stored.chain
        return stored

    def _last_chain(self) -> str:
        """Asked once per transaction: the counter's row keeps every other writer out."""
        if self._chain is None:
            query = select(EventRow.chain).order_by(col(EventRow.seq).desc()).limit(1)
            self._chain = self._session.exec(query).first() or NO_PREVIOUS
        return self._chain

    def of_setup(self, setup: str) -> list[StoredEvent]:
        return self._many(
            select(EventRow).where(EventRow.setup == setup).order_by(col(EventRow.seq))
        )

    def found(self, event_ids: Iterable[str]) -> dict[str, StoredEvent]:
        rows = [
            row
            for part in parts(event_ids)
            for row in self._many(select(EventRow).where(col(EventRow.id).in_(part)))
        ]
        return {row.id: row for row in rows}

    def after(self, seq: int, limit: int) -> list[StoredEvent]:
        query = select(EventRow).where(EventRow.seq > seq).order_by(col(EventRow.seq)).limit(limit)
        return self._many(query)

    def setups(self) -> list[str]:
        query = select(EventRow.setup).group_by(EventRow.setup).order_by(func.min(EventRow.seq))
        return list(self._session.exec(query))

    def timings(self, setups: Iterable[str]) -> list[tuple[str, str, str, dt.datetime]]:
        query = (
            select(EventRow.setup, EventRow.tablet, EventRow.step, EventRow.at)
            .where(col(EventRow.setup).in_(list(setups)), col(EventRow.step).is_not(None))
            .order_by(col(EventRow.setup), col(EventRow.tablet), col(EventRow.n))
        )
        return [
            (setup, tablet, step or "", at) for setup, tablet, step, at in self._session.exec(query)
        ]

    def tablet(self, tablet: str) -> Tablet | None:
        row = self._session.get(TabletRow, tablet, populate_existing=True)
        return None if row is None else to_value(Tablet, row)

    def tablets(self) -> list[Tablet]:
        return [
            to_value(Tablet, row)
            for row in self._session.exec(select(TabletRow).order_by(TabletRow.id))
        ]

    def see_tablet(self, tablet: str, build: str, now: dt.datetime) -> None:
        if self.tablet(tablet) is None:
            first = Tablet(tablet, now, now, build, contiguous=0, highest=0)
            put(self._session, to_row(TabletRow, first))
        else:
            change = update(TabletRow).where(col(TabletRow.id) == tablet)
            self._session.execute(change.values(last_seen=now, build=build))

    def advance(self, tablet: str, n: int) -> int:
        query = select(TabletRow.contiguous, TabletRow.highest).where(TabletRow.id == tablet)
        contiguous, highest = self._session.exec(query).one()
        if n == contiguous + 1:
            contiguous = n if n > highest else self._last_without_gap(tablet, n)
        values = {"contiguous": contiguous, "highest": max(highest, n)}
        self._session.execute(update(TabletRow).where(col(TabletRow.id) == tablet).values(values))
        return contiguous

    def set_aside(self, item: SetAside) -> None:
        query = select(SetAsideRow.id).where(SetAsideRow.hash == item.hash)
        if self._session.exec(query).first() is None:
            self._session.add(to_row(SetAsideRow, item, id=None))
            self._session.flush()

    def set_asides(self, page: int, per_page: int) -> Page[SetAside]:
        total = self._session.exec(select(func.count()).select_from(SetAsideRow)).one()
        query = select(SetAsideRow).order_by(col(SetAsideRow.id).desc())
        rows = self._session.exec(query.offset((page - 1) * per_page).limit(per_page))
        return Page([to_value(SetAside, row) for row in rows], page, per_page, total)

    def _last_without_gap(self, tablet: str, n: int) -> int:
        query = (
            select(EventRow.n)
            .where(EventRow.tablet == tablet, EventRow.n > n)
            .order_by(col(EventRow.n))
        )
        for following in self._session.exec(query):
            if following != n + 1:
                break
            n = following
        return n

    def _one(self, query: object) -> StoredEvent | None:
        return next(iter(self._many(query)), None)

    def _many(self, query: object) -> list[StoredEvent]:
        rows = self._session.exec(query)  # type: ignore[call-overload]
        return [_stored(row) for row in rows]


def _stored(row: EventRow) -> StoredEvent:
    value = to_value(StoredEvent, row)
    return replace(value, flags=tuple(value.flags))
