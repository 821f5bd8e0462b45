"""Facts about this server, and its counters."""

from __future__ import annotations

from sqlalchemy import bindparam, update
from sqlmodel import Session, select

from api.domain.records import ShopMeta
from api.storage.mapping import put, table_of
from api.storage.tables import CounterRow, ShopMetaRow

_COUNTERS = table_of(CounterRow)
COUNT_UP = (
    update(_COUNTERS)
    .where(_COUNTERS.c.name == bindparam("counter"))
    .values(value=_COUNTERS.c.value + 1)
    .returning(_COUNTERS.c.value)
)


def count_up(session: Session, name: str) -> int:
    """The counter's next value; the row stays locked until the transaction ends."""
    row = session.connection().execute(COUNT_UP, {"counter": name}).one()
    return int(row[0])


def counted(session: Session, name: str) -> int:
    query = select(CounterRow.value).where(CounterRow.name == name)
    return int(session.exec(query).first() or 0)


class SqlShop:
    def __init__(self, session: Session) -> None:
        self._session = session

    def meta(self) -> ShopMeta:
        watermark = self._get("watermark")
        return ShopMeta(
            name=self._get("name") or "",
            epoch=self._get("epoch") or "",
            version=self.version(),
            watermark=int(watermark) if watermark else None,
        )

    def version(self) -> int:
        return counted(self._session, "shop")

    def name(self, name: str) -> None:
        put(self._session, ShopMetaRow(name="name", value=name))

    def set_watermark(self, seq: int | None) -> None:
        put(self._session, ShopMetaRow(name="watermark", value="" if seq is None else str(seq)))

    def set_epoch(self, epoch: str) -> None:
        put(self._session, ShopMetaRow(name="epoch", value=epoch))

    def bump(self) -> int:
        return count_up(self._session, "shop")

    def probe(self, value: str) -> None:
        put(self._session, ShopMetaRow(name="probe", value=value))

    def probed(self) -> str | None:
        return self._get("probe")

    def dialect(self) -> str:
        return self._session.connection().dialect.name

    def _get(self, name: str) -> str | None:
        row = self._session.get(ShopMetaRow, name)
        return None if row is None else row.value
