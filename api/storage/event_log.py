"""The append-only log: sequence, chain, and what was set aside."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import fields, replace

from sqlalchemy import insert
from sqlmodel import Session, col, func, select

from api.domain.chain import event_chain
from api.domain.records import Page, SetAside, StoredEvent
from api.storage.mapping import parts, table_of, to_row, to_value
from api.storage.queries import chain
from api.storage.queries.shop import counted
from api.storage.tables import CounterRow, EventRow, SetAsideRow

INSERT = insert(table_of(EventRow))


class SqlEventLog:
    def __init__(self, session: Session) -> None:
        self._session = session

    def lock(self) -> None:
        """On SQLite the writer holds the whole file already; elsewhere the counter row is the lock."""
        self._session.exec(
            select(CounterRow).where(CounterRow.name == "seq").with_for_update()
        ).one()

    def head(self) -> int:
        return counted(self._session, "seq")

    def chain_head(self) -> tuple[int, str]:
        return chain.head(self._session)

    def count(self) -> int:
        return self._session.exec(select(func.count()).select_from(EventRow)).one()

    def find(self, event_id: str) -> StoredEvent | None:
        return self._one(select(EventRow).where(EventRow.id == event_id))

    def at(self, tablet: str, n: int) -> StoredEvent | None:
        return self._one(select(EventRow).where(EventRow.tablet == tablet, EventRow.n == n))

    def append(self, event: StoredEvent) -> StoredEvent:
        seq, value = chain.append(
            self._session, lambda seq, previous: event_chain(previous, replace(event, seq=seq))
        )
        stored = replace(event, seq=seq, chain=value)
        row = {one.name: getattr(stored, one.name) for one in fields(stored)}
        self._session.connection().execute(INSERT, row | {"outcome": "stored"})
        return stored

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

    def set_aside(self, item: SetAside) -> bool:
        query = select(SetAsideRow.id).where(SetAsideRow.hash == item.hash)
        if self._session.exec(query).first() is not None:
            return False
        self._session.add(to_row(SetAsideRow, item, id=None))
        self._session.flush()
        return True

    def set_asides(self, page: int, per_page: int) -> Page[SetAside]:
        total = self._session.exec(select(func.count()).select_from(SetAsideRow)).one()
        query = select(SetAsideRow).order_by(col(SetAsideRow.id).desc())
        rows = self._session.exec(query.offset((page - 1) * per_page).limit(per_page))
        return Page([to_value(SetAside, row) for row in rows], page, per_page, total)

    def _one(self, query: object) -> StoredEvent | None:
        return next(iter(self._many(query)), None)

    def _many(self, query: object) -> list[StoredEvent]:
        rows = self._session.exec(query)  # type: ignore[call-overload]
        return [_stored(row) for row in rows]


def _stored(row: EventRow) -> StoredEvent:
    value = to_value(StoredEvent, row)
    return replace(value, flags=tuple(value.flags))
