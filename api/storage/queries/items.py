"""The stores' items, by version."""

from __future__ import annotations

from sqlalchemy import func
from sqlmodel import Session, col, select

from api.domain.records import ItemVersion
from api.domain.stores import ItemKind
from api.storage.mapping import to_row, to_value
from api.storage.tables import StoreItemRow


class SqlItems:
    def __init__(self, session: Session) -> None:
        self._session = session

    def current(self, kind: ItemKind) -> list[ItemVersion]:
        newest = (
            select(StoreItemRow.key, func.max(StoreItemRow.n).label("n"))
            .where(StoreItemRow.kind == kind)
            .group_by(StoreItemRow.key)
            .subquery()
        )
        query = (
            select(StoreItemRow)
            .join(
                newest,
                (col(StoreItemRow.key) == newest.c.key) & (col(StoreItemRow.n) == newest.c.n),
            )
            .where(StoreItemRow.kind == kind)
            .order_by(StoreItemRow.key)
        )
        return [to_value(ItemVersion, row) for row in self._session.exec(query)]

    def get(self, kind: ItemKind, key: str) -> ItemVersion | None:
        return next(iter(self.history(kind, key)), None)

    def history(self, kind: ItemKind, key: str) -> list[ItemVersion]:
        query = (
            select(StoreItemRow)
            .where(StoreItemRow.kind == kind, StoreItemRow.key == key)
            .order_by(col(StoreItemRow.n).desc())
        )
        return [to_value(ItemVersion, row) for row in self._session.exec(query)]

    def add(self, version: ItemVersion) -> None:
        self._session.add(to_row(StoreItemRow, version))
        self._session.flush()
