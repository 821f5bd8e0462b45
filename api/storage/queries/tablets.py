"""Tablets: who they are, how far their records have come, and the codes that let them in."""

from __future__ import annotations

import datetime as dt

from sqlalchemy import delete, update
from sqlmodel import Session, col, select

from api.domain.records import EnrolCode, Tablet, TabletSession
from api.storage.mapping import put, to_row, to_value
from api.storage.tables import EnrolCodeRow, EventRow, TabletRow, TabletSessionRow


class SqlTablets:
    def __init__(self, session: Session) -> None:
        self._session = session

    def get(self, tablet: str) -> Tablet | None:
        row = self._session.get(TabletRow, tablet, populate_existing=True)
        return None if row is None else to_value(Tablet, row)

    def all(self) -> list[Tablet]:
        rows = self._session.exec(select(TabletRow).order_by(TabletRow.id))
        return [to_value(Tablet, row) for row in rows]

    def save(self, tablet: Tablet) -> None:
        put(self._session, to_row(TabletRow, tablet))

    def see(self, tablet: str, build: str, now: dt.datetime) -> None:
        if self.get(tablet) is None:
            self.save(Tablet(tablet, now, now, build, contiguous=0, highest=0))
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

    def add_code(self, code: EnrolCode) -> None:
        put(self._session, to_row(EnrolCodeRow, code))

    def use_code(self, digest: str, now: dt.datetime) -> EnrolCode | None:
        """Takes one use of the code; None when there is no such code, or it has ended."""
        change = (
            update(EnrolCodeRow)
            .where(
                col(EnrolCodeRow.digest) == digest,
                col(EnrolCodeRow.uses_left) > 0,
                col(EnrolCodeRow.expires_at) > now,
            )
            .values(uses_left=EnrolCodeRow.uses_left - 1)
        )
        if self._session.execute(change).rowcount != 1:  # type: ignore[attr-defined]
            return None
        row = self._session.get(EnrolCodeRow, digest, populate_existing=True)
        return None if row is None else to_value(EnrolCode, row)

    def end_codes(self, now: dt.datetime) -> None:
        """Forgets codes that have ended."""
        ended = (col(EnrolCodeRow.expires_at) <= now) | (col(EnrolCodeRow.uses_left) <= 0)
        self._session.execute(delete(EnrolCodeRow).where(ended))

    def session(self, digest: str) -> TabletSession | None:
        row = self._session.get(TabletSessionRow, digest)
        return None if row is None else to_value(TabletSession, row)

    def open_session(self, session: TabletSession) -> None:
        put(self._session, to_row(TabletSessionRow, session))

    def end_sessions(self, *, of: str | None = None, until: dt.datetime | None = None) -> None:
        """Ends a tablet's sessions, those that expired by `until`, or all."""
        query = delete(TabletSessionRow)
        if of is not None:
            query = query.where(col(TabletSessionRow.tablet) == of)
        if until is not None:
            query = query.where(col(TabletSessionRow.expires_at) <= until)
        self._session.execute(query)

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
