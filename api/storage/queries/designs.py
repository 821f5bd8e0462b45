"""Designs and their revisions."""

from __future__ import annotations

from sqlmodel import Session, select

from api.domain.records import Revision
from api.storage.mapping import put, to_row, to_value
from api.storage.tables import DesignRevisionRow


class SqlDesigns:
    def __init__(self, session: Session) -> None:
        self._session = session

    def get(self, code: str, revision: str) -> Revision | None:
        row = self._session.get(DesignRevisionRow, (code, revision))
        return None if row is None else to_value(Revision, row)

    def all(self) -> list[Revision]:
        rows = self._session.exec(
            select(DesignRevisionRow).order_by(DesignRevisionRow.code, DesignRevisionRow.revision)
        )
        return [to_value(Revision, row) for row in rows]

    def save(self, revision: Revision) -> None:
        put(self._session, to_row(DesignRevisionRow, revision))
