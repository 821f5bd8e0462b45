"""What the server thinks of each signature."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import replace

from sqlmodel import Session, col, select

from api.domain.records import StoredSignature
from api.storage.mapping import parts, put, to_row, to_value
from api.storage.queries.journal import SqlJournal
from api.storage.tables import SignatureRow

TOLD = ("setup", "person", "meaning", "verdict", "reason", "sealed")


class SqlSignatures:
    def __init__(self, session: Session) -> None:
        self._session = session

    def of_setup(self, setup: str) -> list[StoredSignature]:
        return self.of_setups([setup])

    def of_setups(self, setups: Iterable[str]) -> list[StoredSignature]:
        found = [
            one
            for part in parts(setups)
            for one in self._values(select(SignatureRow).where(col(SignatureRow.setup).in_(part)))
        ]
        return sorted(found, key=lambda one: one.seq)

    def after(self, seq: int, up_to: int) -> list[StoredSignature]:
        query = select(SignatureRow).where(SignatureRow.seq > seq, SignatureRow.seq <= up_to)
        return self._values(query.order_by(col(SignatureRow.seq)))

    def get(self, event: str) -> StoredSignature | None:
        row = self._session.get(SignatureRow, event)
        return None if row is None else to_value(StoredSignature, row)

    def save(self, signature: StoredSignature, at: dt.datetime) -> StoredSignature:
        told = {name: getattr(signature, name) for name in TOLD}
        entry = SqlJournal(self._session).add("verdict", signature.event, told, at)
        numbered = replace(signature, seq=entry.seq)
        put(self._session, to_row(SignatureRow, numbered))
        return numbered

    def with_sealed(self, sealed: str) -> StoredSignature | None:
        """The first signature made with this sealed PIN."""
        query = select(SignatureRow).where(SignatureRow.sealed == sealed)
        return next(iter(self._values(query.order_by(col(SignatureRow.seq)))), None)

    def due(self, now: dt.datetime) -> list[StoredSignature]:
        query = select(SignatureRow).where(
            SignatureRow.verdict == "provisional", col(SignatureRow.retry_at) <= now
        )
        return self._values(query.order_by(col(SignatureRow.seq)))

    def _values(self, query: object) -> list[StoredSignature]:
        return [to_value(StoredSignature, row) for row in self._session.exec(query)]  # type: ignore[call-overload]
