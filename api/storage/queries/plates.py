"""Plates and the times they were held."""

from __future__ import annotations

import datetime as dt

from sqlmodel import Session, col, select

from api.domain.plates import Plate
from api.domain.records import Hold
from api.storage.mapping import put, to_row, to_value
from api.storage.tables import PlateHoldRow, PlateRow


class SqlPlates:
    def __init__(self, session: Session) -> None:
        self._session = session

    def get(self, serial: str) -> Plate | None:
        row = self._session.get(PlateRow, serial)
        return None if row is None else to_value(Plate, row)

    def all(self) -> list[Plate]:
        return [
            to_value(Plate, row)
            for row in self._session.exec(select(PlateRow).order_by(PlateRow.serial))
        ]

    def save(self, plate: Plate) -> None:
        put(self._session, to_row(PlateRow, plate))

    def holds(self, serial: str) -> list[Hold]:
        query = (
            select(PlateHoldRow)
            .where(PlateHoldRow.plate == serial)
            .order_by(col(PlateHoldRow.id).desc())
        )
        return [to_value(Hold, row) for row in self._session.exec(query)]

    def add_hold(self, hold: Hold) -> None:
        self._session.add(to_row(PlateHoldRow, hold))
        self._session.flush()

    def end_hold(self, serial: str, by: str, at: dt.datetime) -> None:
        query = select(PlateHoldRow).where(
            PlateHoldRow.plate == serial, col(PlateHoldRow.freed_at).is_(None)
        )
        for row in self._session.exec(query):
            row.freed_by, row.freed_at = by, at
        self._session.flush()
