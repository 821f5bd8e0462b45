"""Projections of the event log: setups, readings, pulls per torque tool."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from sqlalchemy import delete, exists, func
from sqlmodel import Session, col, select
from sqlmodel.sql.expression import SelectOfScalar

from api.domain.days import midnight
from api.domain.records import Page, PointReading, SetupFilter, SetupSummary
from api.storage.mapping import parts, put, to_row, to_summary, to_value
from api.storage.tables import EventRow, ReadingRow, SetupRow, ToolUseRow

NEWEST_FIRST = (col(SetupRow.opened_at).desc(), col(SetupRow.id).desc())
OLDEST_FIRST = (col(SetupRow.opened_at), col(SetupRow.id))


class SqlSetups:
    def __init__(self, session: Session) -> None:
        self._session = session

    def get(self, setup: str) -> SetupSummary | None:
        row = self._session.get(SetupRow, setup)
        return None if row is None else to_summary(row)

    def save(
        self,
        summary: SetupSummary,
        readings: list[PointReading] | None = None,
        pulls: dict[str, int] | None = None,
    ) -> None:
        put(self._session, to_row(SetupRow, summary))
        if readings is not None:
            self._session.execute(delete(ReadingRow).where(col(ReadingRow.setup) == summary.id))
            self._session.add_all([to_row(ReadingRow, reading) for reading in readings])
        if pulls is not None:
            self._session.execute(delete(ToolUseRow).where(col(ToolUseRow.setup) == summary.id))
            rows = [
                ToolUseRow(setup=summary.id, tool=tool, pulls=count)
                for tool, count in pulls.items()
            ]
            self._session.add_all(rows)
        self._session.flush()
        self._session.expunge_all()

    def clear(self) -> None:
        for table in (SetupRow, ReadingRow, ToolUseRow):
            self._session.execute(delete(table))

    def find(self, wanted: SetupFilter, page: int, per_page: int) -> Page[SetupSummary]:
        query = _wanted(select(SetupRow), wanted)
        total = self._session.exec(select(func.count()).select_from(query.subquery())).one()
        window = query.order_by(*NEWEST_FIRST).offset((page - 1) * per_page).limit(per_page)
        return Page([to_summary(row) for row in self._session.exec(window)], page, per_page, total)

    def of_plate(self, plate: str) -> list[SetupSummary]:
        query = select(SetupRow).where(SetupRow.plate == plate).order_by(*OLDEST_FIRST)
        return [to_summary(row) for row in self._session.exec(query)]

    def newest(self, limit: int) -> list[SetupSummary]:
        query = select(SetupRow).order_by(*NEWEST_FIRST).limit(limit)
        return [to_summary(row) for row in self._session.exec(query)]

    def all(self) -> list[SetupSummary]:
        query = select(SetupRow).order_by(*OLDEST_FIRST)
        return [to_summary(row) for row in self._session.exec(query)]

    def readings(
        self, plate: str | None = None, point: str | None = None, state: str | None = None
    ) -> list[PointReading]:
        query = select(ReadingRow)
        if plate is not None:
            query = query.where(ReadingRow.plate == plate)
        if point is not None:
            query = query.where(ReadingRow.point == point)
        if state is not None:
            query = query.where(ReadingRow.state == state)
        query = query.order_by(col(ReadingRow.at), col(ReadingRow.seq))
        return [to_value(PointReading, row) for row in self._session.exec(query)]

    def readings_of(self, setups: Iterable[str]) -> list[PointReading]:
        found = [
            to_value(PointReading, row)
            for part in parts(setups)
            for row in self._session.exec(select(ReadingRow).where(col(ReadingRow.setup).in_(part)))
        ]
        return sorted(found, key=lambda one: one.seq)

    def pulls(self) -> dict[str, int]:
        query = select(ToolUseRow.tool, func.sum(ToolUseRow.pulls)).group_by(ToolUseRow.tool)
        return {tool: int(count) for tool, count in self._session.exec(query)}


def _wanted(query: SelectOfScalar[SetupRow], wanted: SetupFilter) -> SelectOfScalar[SetupRow]:
    for column in ("plate", "design", "judgement", "phase"):
        value = getattr(wanted, column)
        if value is not None:
            query = query.where(getattr(SetupRow, column) == value)
    if wanted.tool is not None:
        query = query.where(
            exists().where(
                col(ToolUseRow.setup) == SetupRow.id, col(ToolUseRow.tool) == wanted.tool
            )
        )
    if wanted.person is not None:
        query = query.where(
            exists().where(
                col(EventRow.setup) == SetupRow.id, col(EventRow.person) == wanted.person
            )
        )
    if wanted.since is not None:
        query = query.where(SetupRow.opened_at >= midnight(wanted.since))
    if wanted.until is not None and wanted.until < dt.date.max:
        query = query.where(SetupRow.opened_at < midnight(wanted.until + dt.timedelta(days=1)))
    return query
