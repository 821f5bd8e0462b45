"""The server's own entries: append-only, in one order and chain with the events."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from sqlmodel import Session, col, func, select

from api.domain.chain import canonical, entry_chain, text_hash
from api.domain.records import JournalEntry, JournalKind
from api.storage.mapping import to_row, to_value
from api.storage.queries import chain
from api.storage.tables import JournalRow


class SqlJournal:
    def __init__(self, session: Session) -> None:
        self._session = session

    def add(
        self,
        kind: JournalKind,
        subject: str,
        body: Mapping[str, Any],
        at: dt.datetime,
        by: str | None = None,
    ) -> JournalEntry:
        text = canonical(body)
        entry = JournalEntry(0, kind, subject, text, text_hash(text), at, by, "")
        seq, value = chain.append(
            self._session, lambda seq, previous: entry_chain(previous, replace(entry, seq=seq))
        )
        kept = replace(entry, seq=seq, chain=value)
        self._session.add(to_row(JournalRow, kept))
        self._session.flush()
        return kept

    def after(self, seq: int, limit: int) -> list[JournalEntry]:
        query = select(JournalRow).where(JournalRow.seq > seq).order_by(col(JournalRow.seq))
        return self._values(query.limit(limit))

    def of_kind(self, *kinds: JournalKind) -> list[JournalEntry]:
        query = select(JournalRow).where(col(JournalRow.kind).in_(kinds))
        return self._values(query.order_by(col(JournalRow.seq)))

    def last(self, kind: JournalKind, subject: str | None = None) -> JournalEntry | None:
        query = select(JournalRow).where(JournalRow.kind == kind)
        if subject is not None:
            query = query.where(JournalRow.subject == subject)
        return next(iter(self._values(query.order_by(col(JournalRow.seq).desc()).limit(1))), None)

    def count(self) -> int:
        return self._session.exec(select(func.count()).select_from(JournalRow)).one()

    def _values(self, query: Any) -> list[JournalEntry]:
        return [to_value(JournalEntry, row) for row in self._session.exec(query)]
