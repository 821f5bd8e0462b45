"""People, their secrets' hashes, and office sessions."""

from __future__ import annotations

import datetime as dt

from sqlalchemy import delete, update
from sqlmodel import Session, col, select

from api.domain.people import Person, Role
from api.domain.records import Credential, CredentialKind, OfficeSession
from api.storage.mapping import put, to_row, to_value
from api.storage.tables import CredentialRow, OfficeSessionRow, PersonRow


class SqlPeople:
    def __init__(self, session: Session) -> None:
        self._session = session

    def get(self, badge: str) -> Person | None:
        row = self._session.get(PersonRow, badge)
        return None if row is None else _person(row)

    def all(self) -> list[Person]:
        return [
            _person(row) for row in self._session.exec(select(PersonRow).order_by(PersonRow.badge))
        ]

    def save(self, person: Person) -> None:
        put(
            self._session,
            PersonRow(badge=person.badge, role=person.role.value, active=person.active),
        )

    def credential(
        self, badge: str, kind: CredentialKind, *, to_change: bool = False
    ) -> Credential | None:
        row = self._session.get(
            CredentialRow, (badge, kind), with_for_update=to_change, populate_existing=True
        )
        return None if row is None else to_value(Credential, row)

    def credentials(self) -> list[Credential]:
        return [to_value(Credential, row) for row in self._session.exec(select(CredentialRow))]

    def save_credential(self, credential: Credential) -> None:
        put(self._session, to_row(CredentialRow, credential))


class SqlSessions:
    def __init__(self, session: Session) -> None:
        self._session = session

    def get(self, digest: str) -> OfficeSession | None:
        row = self._session.get(OfficeSessionRow, digest)
        return None if row is None else to_value(OfficeSession, row)

    def add(self, session: OfficeSession) -> None:
        put(self._session, to_row(OfficeSessionRow, session))

    def of(self, badge: str) -> list[OfficeSession]:
        wanted = select(OfficeSessionRow).where(OfficeSessionRow.badge == badge)
        rows = self._session.exec(wanted.order_by(col(OfficeSessionRow.opened_at)))
        return [to_value(OfficeSession, row) for row in rows]

    def see(self, digest: str, now: dt.datetime) -> None:
        self._session.execute(
            update(OfficeSessionRow)
            .where(col(OfficeSessionRow.digest) == digest)
            .values(seen_at=now)
        )

    def end(self, digest: str) -> None:
        self._session.execute(
            delete(OfficeSessionRow).where(col(OfficeSessionRow.digest) == digest)
        )

    def end_all_of(self, badge: str) -> None:
        self._session.execute(delete(OfficeSessionRow).where(col(OfficeSessionRow.badge) == badge))

    def end_expired(self, now: dt.datetime) -> None:
        self._session.execute(
            delete(OfficeSessionRow).where(col(OfficeSessionRow.expires_at) <= now)
        )


def _person(row: PersonRow) -> Person:
    return Person(badge=row.badge, role=Role(row.role), active=row.active)
