"""Computations of designs: the queue and what came of them."""

from __future__ import annotations

import datetime as dt

from sqlalchemy import ColumnElement, and_, delete, or_, update
from sqlmodel import Session, col, select

from api.domain.records import Computation
from api.storage.mapping import put, to_row, to_value
from api.storage.tables import AnalysisRow


class SqlAnalyses:
    def __init__(self, session: Session) -> None:
        self._session = session

    def get(self, inputs: str) -> Computation | None:
        row = self._session.get(AnalysisRow, inputs)
        return None if row is None else to_value(Computation, row)

    def of(self, design: str, revision: str) -> Computation | None:
        query = (
            select(AnalysisRow)
            .where(AnalysisRow.design == design, AnalysisRow.revision == revision)
            .order_by(col(AnalysisRow.asked_at).desc(), col(AnalysisRow.inputs))
        )
        row = self._session.exec(query).first()
        return None if row is None else to_value(Computation, row)

    def save(self, computation: Computation) -> None:
        put(self._session, to_row(AnalysisRow, computation))

    def drop(self, design: str, revision: str) -> None:
        self._session.connection().execute(
            delete(AnalysisRow).where(
                col(AnalysisRow.design) == design, col(AnalysisRow.revision) == revision
            )
        )
        self._session.expire_all()

    def waits(self, silent_since: dt.datetime) -> bool:
        query = select(AnalysisRow.inputs).where(_waiting(silent_since)).limit(1)
        return self._session.exec(query).first() is not None

    def next(self, silent_since: dt.datetime) -> Computation | None:
        query = select(AnalysisRow).where(_waiting(silent_since))
        oldest = query.order_by(col(AnalysisRow.asked_at), col(AnalysisRow.inputs)).limit(1)
        row = self._session.exec(oldest.with_for_update(skip_locked=True)).first()
        return None if row is None else to_value(Computation, row)

    def running(self) -> list[Computation]:
        rows = self._session.exec(select(AnalysisRow).where(AnalysisRow.state == "running"))
        return [to_value(Computation, row) for row in rows]

    def advance(self, inputs: str, progress: float, doing: str, at: dt.datetime) -> None:
        self._session.connection().execute(
            update(AnalysisRow)
            .where(col(AnalysisRow.inputs) == inputs, col(AnalysisRow.state) == "running")
            .values(progress=progress, doing=doing, at=at)
        )


def _waiting(silent_since: dt.datetime) -> ColumnElement[bool]:
    left = and_(col(AnalysisRow.state) == "running", col(AnalysisRow.at) < silent_since)
    return or_(col(AnalysisRow.state) == "queued", left)
