"""The tables. They validate nothing, so they are built only from domain values, never from a request."""

from __future__ import annotations

import datetime as dt
import json
from typing import Any

from sqlalchemy import BigInteger, Dialect, Index, String, Text, TypeDecorator, UniqueConstraint
from sqlmodel import Field, SQLModel

NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}
METADATA = SQLModel.metadata
METADATA.naming_convention = NAMING


class Utc(TypeDecorator[dt.datetime]):
    """A moment in UTC as fixed-width text, so that both engines sort and keep it alike."""

    impl = String(27)
    cache_ok = True

    def process_bind_param(self, value: dt.datetime | None, dialect: Dialect) -> str | None:
        if value is None:
            return None
        return value.astimezone(dt.UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ").rjust(27, "0")

    def process_result_value(self, value: str | None, dialect: Dialect) -> dt.datetime | None:
        return None if value is None else dt.datetime.fromisoformat(value)


class Json(TypeDecorator[Any]):
    """A JSON value as ASCII text: what a database cannot hold raw stays escaped."""

    impl = Text()
    cache_ok = True

    def process_bind_param(self, value: Any, dialect: Dialect) -> str:
        return json.dumps(value, separators=(",", ":"))

    def process_result_value(self, value: str | None, dialect: Dialect) -> Any:
        return None if value is None else json.loads(value)


class DesignRevisionRow(SQLModel, table=True):
    __tablename__ = "design_revision"
    code: str = Field(primary_key=True)
    revision: str = Field(primary_key=True)
    title: str
    state: str
    document: Any = Field(sa_type=Json)
    source: str = Field(sa_type=Text)
    hash: str
    sheet: Any = Field(sa_type=Json)
    loaded_by: str
    loaded_at: dt.datetime = Field(sa_type=Utc)
    released_by: str | None
    released_at: dt.datetime | None = Field(sa_type=Utc)
    withdrawn_by: str | None
    withdrawn_at: dt.datetime | None = Field(sa_type=Utc)


class AnalysisRow(SQLModel, table=True):
    """The queue of computations and what came of them."""

    __tablename__ = "analysis"
    __table_args__ = (Index(None, "design", "revision"),)
    inputs: str = Field(primary_key=True)
    method: str
    design: str
    revision: str
    state: str = Field(index=True)
    progress: float
    doing: str = Field(sa_type=Text)
    failure: str | None = Field(sa_type=Text)
    result: Any = Field(sa_type=Json)
    asked_at: dt.datetime = Field(sa_type=Utc)
    at: dt.datetime = Field(sa_type=Utc)


class PlateRow(SQLModel, table=True):
    __tablename__ = "plate"
    serial: str = Field(primary_key=True)
    design: str = Field(index=True)
    held: str | None = Field(sa_type=Text)
    cleared: str | None
    note: str = Field(sa_type=Text)


class PlateHoldRow(SQLModel, table=True):
    __tablename__ = "plate_hold"
    id: int | None = Field(default=None, primary_key=True)
    plate: str = Field(foreign_key="plate.serial", index=True)
    reason: str = Field(sa_type=Text)
    by: str
    at: dt.datetime = Field(sa_type=Utc)
    freed_by: str | None
    freed_at: dt.datetime | None = Field(sa_type=Utc)


class StoreItemRow(SQLModel, table=True):
    """Append-only: a change adds version n + 1."""

    __tablename__ = "store_item"
    kind: str = Field(primary_key=True)
    key: str = Field(primary_key=True)
    n: int = Field(primary_key=True)
    body: Any = Field(sa_type=Json)
    at: dt.datetime = Field(sa_type=Utc)
    by: str


class PersonRow(SQLModel, table=True):
    __tablename__ = "person"
    badge: str = Field(primary_key=True)
    role: str
    active: bool


class CredentialRow(SQLModel, table=True):
    __tablename__ = "credential"
    badge: str = Field(primary_key=True, foreign_key="person.badge")
    kind: str = Field(primary_key=True)
    hash: str
    tries: int
    locked_until: dt.datetime | None = Field(sa_type=Utc)


class OfficeSessionRow(SQLModel, table=True):
    __tablename__ = "office_session"
    digest: str = Field(primary_key=True)
    badge: str = Field(foreign_key="person.badge", index=True)
    opened_at: dt.datetime = Field(sa_type=Utc)
    expires_at: dt.datetime = Field(sa_type=Utc, index=True)
    seen_at: dt.datetime | None = Field(sa_type=Utc)


class EventRow(SQLModel, table=True):
    """The log itself; triggers refuse any update or delete."""

    __tablename__ = "event"
    __table_args__ = (UniqueConstraint("tablet", "n"), Index(None, "setup", "seq"))
    seq: int = Field(
        primary_key=True, sa_type=BigInteger, sa_column_kwargs={"autoincrement": False}
    )
    id: str = Field(unique=True)
    tablet: str
    n: int = Field(sa_type=BigInteger)
    setup: str
    kind: str
    step: str | None
    person: str | None = Field(index=True)
    at: dt.datetime = Field(sa_type=Utc)
    received_at: dt.datetime = Field(sa_type=Utc)
    text: str = Field(sa_type=Text)
    hash: str
    chain: str
    outcome: str
    flags: Any = Field(sa_type=Json)
    sig: str | None
    form: int


class JournalRow(SQLModel, table=True):
    """What the server itself wrote down, in one order and chain with the events; append-only."""

    __tablename__ = "journal"
    __table_args__ = (Index(None, "kind", "subject"),)
    seq: int = Field(
        primary_key=True, sa_type=BigInteger, sa_column_kwargs={"autoincrement": False}
    )
    kind: str
    subject: str
    body: str = Field(sa_type=Text)
    hash: str
    at: dt.datetime = Field(sa_type=Utc)
    by: str | None
    chain: str


class SetAsideRow(SQLModel, table=True):
    """Append-only, like the log."""

    __tablename__ = "set_aside"
    id: int | None = Field(default=None, primary_key=True)
    hash: str = Field(unique=True)
    text: str = Field(sa_type=Text)
    escaped: bool
    reason: str = Field(sa_type=Text)
    tablet: str
    received_at: dt.datetime = Field(sa_type=Utc)
    sig: str | None


class SignatureRow(SQLModel, table=True):
    __tablename__ = "signature"
    event: str = Field(primary_key=True, foreign_key="event.id")
    setup: str = Field(index=True)
    person: str
    meaning: str
    verdict: str
    reason: str | None = Field(sa_type=Text)
    seq: int = Field(sa_type=BigInteger, unique=True)
    retry_at: dt.datetime | None = Field(sa_type=Utc, index=True)
    sealed: str = Field(index=True)


class TabletRow(SQLModel, table=True):
    __tablename__ = "tablet"
    id: str = Field(primary_key=True)
    first_seen: dt.datetime = Field(sa_type=Utc)
    last_seen: dt.datetime = Field(sa_type=Utc)
    build: str
    contiguous: int = Field(sa_type=BigInteger)
    highest: int = Field(sa_type=BigInteger)
    name: str
    key: str | None
    enrolled_at: dt.datetime | None = Field(sa_type=Utc)
    enrolled_by: str | None
    revoked_at: dt.datetime | None = Field(sa_type=Utc)
    revoked_by: str | None
    forked_at: dt.datetime | None = Field(sa_type=Utc)


class EnrolCodeRow(SQLModel, table=True):
    __tablename__ = "enrol_code"
    digest: str = Field(primary_key=True)
    name: str
    made_by: str
    made_at: dt.datetime = Field(sa_type=Utc)
    expires_at: dt.datetime = Field(sa_type=Utc)
    uses_left: int


class TabletSessionRow(SQLModel, table=True):
    __tablename__ = "tablet_session"
    digest: str = Field(primary_key=True)
    tablet: str = Field(foreign_key="tablet.id", index=True)
    opened_at: dt.datetime = Field(sa_type=Utc)
    expires_at: dt.datetime = Field(sa_type=Utc, index=True)


class SetupRow(SQLModel, table=True):
    __tablename__ = "setup"
    id: str = Field(primary_key=True)
    plate: str = Field(index=True)
    design: str = Field(index=True)
    revision: str
    phase: str
    opened_at: dt.datetime = Field(sa_type=Utc, index=True)
    opened_by: str | None
    last_at: dt.datetime = Field(sa_type=Utc)
    last_seq: int = Field(sa_type=BigInteger)
    events: int
    tablet: str
    person: str | None
    step: str | None
    tool: str | None
    indicator: str | None
    judgement: str | None
    signed_by: str | None
    signature: str | None
    greased: bool
    baseline: bool
    movers: int
    troubles: Any = Field(sa_type=Json)
    flags: Any = Field(sa_type=Json)


class ReadingRow(SQLModel, table=True):
    __tablename__ = "reading"
    __table_args__ = (Index(None, "plate", "point", "state"),)
    event: str = Field(primary_key=True)
    setup: str = Field(index=True)
    plate: str
    point: str
    state: str
    value_mm: float
    value: str
    unit: str
    source: str
    indicator: str
    person: str | None
    at: dt.datetime = Field(sa_type=Utc)
    seq: int = Field(sa_type=BigInteger)
    entry: int
    final: bool


class ToolUseRow(SQLModel, table=True):
    """Pulls of one torque tool in one setup."""

    __tablename__ = "tool_use"
    setup: str = Field(primary_key=True)
    tool: str = Field(primary_key=True)
    pulls: int


class CounterRow(SQLModel, table=True):
    """A number that both engines count alike; its row lock orders the writers of the log."""

    __tablename__ = "counter"
    name: str = Field(primary_key=True)
    value: int = Field(sa_type=BigInteger)


class ShopMetaRow(SQLModel, table=True):
    __tablename__ = "shop_meta"
    name: str = Field(primary_key=True)
    value: str = Field(sa_type=Text)
