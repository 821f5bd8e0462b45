"""What is in doubt: signatures, texts set aside, marks on records, numbers that are missing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from typing import Any, cast

from sqlalchemy import exists, func
from sqlalchemy import select as select_columns
from sqlmodel import Session, col, select

from api.domain.records import (
    JournalEntry,
    Page,
    SetAside,
    SetupSummary,
    StoredSignature,
)
from api.storage.mapping import parts, table_of, to_summary, to_value
from api.storage.tables import EventRow, JournalRow, SetAsideRow, SetupRow, SignatureRow
from api.use_cases.ports.questions import Doubtful, Marked

NONE = cast("Any", [])
ASIDE = ("id", "hash", "escaped", "reason", "tablet", "received_at", "sig")
MARKED = ("seq", "id", "setup", "step", "person", "tablet", "received_at", "flags")
NOT_SIGNED = ("working",)


class SqlQuestions:
    def __init__(self, session: Session) -> None:
        self._session = session

    def doubtful(self) -> list[Doubtful]:
        sign, event = table_of(SignatureRow).c, table_of(EventRow).c
        later_sign, later = table_of(SignatureRow).alias().c, table_of(EventRow).alias().c
        made_good = exists().where(
            later_sign.setup == sign.setup,
            later_sign.verdict == "confirmed",
            later_sign.event == later.id,
            later.kind == event.kind,
            later.seq > event.seq,
        )
        query = (
            select(SignatureRow, EventRow)
            .join(EventRow, event.id == sign.event)
            .where((sign.verdict == "provisional") | ((sign.verdict == "refused") & ~made_good))
            .order_by(event.seq)
        )
        return [_doubtful(*pair) for pair in self._session.exec(query)]

    def asides(self) -> list[SetAside]:
        table = table_of(SetAsideRow).c
        query = select_columns(*(table[name] for name in ASIDE)).order_by(table.id)
        return [SetAside(**row, text="") for row in self._rows(query)]

    def aside(self, text_hash: str) -> SetAside | None:
        row = self._session.exec(select(SetAsideRow).where(SetAsideRow.hash == text_hash)).first()
        return None if row is None else to_value(SetAside, row)

    def flagged(self) -> list[SetupSummary]:
        query = select(SetupRow).where(SetupRow.flags != NONE).order_by(col(SetupRow.last_seq))
        return [to_summary(row) for row in self._session.exec(query)]

    def at_work(self) -> dict[str, str]:
        query = select(SetupRow.tablet, SetupRow.id).where(col(SetupRow.phase).in_(NOT_SIGNED))
        return dict(list(self._session.exec(query.order_by(col(SetupRow.last_seq)))))

    def chains(self, seqs: Iterable[int]) -> dict[int, str]:
        found: dict[int, str] = {}
        for part in parts(seqs):
            query = select(EventRow.seq, EventRow.chain).where(col(EventRow.seq).in_(part))
            found.update((seq, chain) for seq, chain in self._session.exec(query))
        return found

    def marked(self, setups: Iterable[str]) -> list[Marked]:
        table = table_of(EventRow).c
        found: list[Marked] = []
        for part in parts(setups):
            query = select_columns(*(table[name] for name in MARKED))
            query = query.where(table.setup.in_(part), table.flags != NONE)
            found += [Marked(**{**row, "flags": tuple(row["flags"])}) for row in self._rows(query)]
        return sorted(found, key=lambda one: one.seq)

    def numbers(self, tablet: str, after: int, limit: int) -> dict[int, dt.datetime]:
        query = (
            select(EventRow.n, EventRow.received_at)
            .where(EventRow.tablet == tablet, EventRow.n > after)
            .order_by(col(EventRow.n))
            .limit(limit)
        )
        return dict(list(self._session.exec(query)))

    def plates(self, setups: Iterable[str]) -> dict[str, str]:
        found: dict[str, str] = {}
        for part in parts(setups):
            query = select(SetupRow.id, SetupRow.plate).where(col(SetupRow.id).in_(part))
            found.update((one, plate) for one, plate in self._session.exec(query))
        return found

    def decided(self, page: int, per_page: int) -> Page[JournalEntry]:
        wanted = JournalRow.kind == "dealt with"
        total = self._session.exec(select(func.count()).select_from(JournalRow).where(wanted)).one()
        query = select(JournalRow).where(wanted).order_by(col(JournalRow.seq).desc())
        rows = self._session.exec(query.offset((page - 1) * per_page).limit(per_page))
        return Page([to_value(JournalEntry, row) for row in rows], page, per_page, total)

    def _rows(self, query: Any) -> Iterable[Mapping[str, Any]]:
        return [dict(row) for row in self._session.connection().execute(query).mappings()]


def _doubtful(sign: SignatureRow, event: EventRow) -> Doubtful:
    return Doubtful(
        to_value(StoredSignature, sign),
        event.seq,
        event.n,
        event.tablet,
        event.kind,
        event.at,
        event.received_at,
    )
