"""What is kept, one collection each; all calls belong to the transaction that is open."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from typing import Any, Protocol

from api.domain.people import Person
from api.domain.plates import Plate
from api.domain.records import (
    Computation,
    Credential,
    CredentialKind,
    EnrolCode,
    Hold,
    ItemVersion,
    JournalEntry,
    JournalKind,
    OfficeSession,
    Page,
    PointReading,
    Revision,
    SetAside,
    SetupFilter,
    SetupSummary,
    ShopMeta,
    StoredEvent,
    StoredSignature,
    Tablet,
    TabletSession,
)
from api.domain.stores import ItemKind


class Designs(Protocol):
    def get(self, code: str, revision: str) -> Revision | None: ...

    def all(self) -> list[Revision]: ...

    def save(self, revision: Revision) -> None: ...


class Analyses(Protocol):
    """The queue of computations; each revision has at most one."""

    def get(self, inputs: str) -> Computation | None: ...

    def of(self, design: str, revision: str) -> Computation | None: ...

    def save(self, computation: Computation) -> None: ...

    def drop(self, design: str, revision: str) -> None: ...

    def waits(self, silent_since: dt.datetime) -> bool:
        """Whether one is queued, or runs and gave no sign of life since then."""
        ...

    def next(self, silent_since: dt.datetime) -> Computation | None:
        """The one of these asked for first; nobody else gets it before the transaction ends."""
        ...

    def running(self) -> list[Computation]: ...

    def advance(self, inputs: str, progress: float, doing: str, at: dt.datetime) -> None:
        """A sign of life; changes nothing where it is not running any more."""
        ...


class Plates(Protocol):
    def get(self, serial: str) -> Plate | None: ...

    def all(self) -> list[Plate]: ...

    def save(self, plate: Plate) -> None: ...

    def holds(self, serial: str) -> list[Hold]: ...

    def add_hold(self, hold: Hold) -> None: ...

    def end_hold(self, serial: str, by: str, at: dt.datetime) -> None: ...


class Items(Protocol):
    def current(self, kind: ItemKind) -> list[ItemVersion]: ...

    def get(self, kind: ItemKind, key: str) -> ItemVersion | None: ...

    def history(self, kind: ItemKind, key: str) -> list[ItemVersion]: ...

    def add(self, version: ItemVersion) -> None: ...


class People(Protocol):
    def get(self, badge: str) -> Person | None: ...

    def all(self) -> list[Person]: ...

    def save(self, person: Person) -> None: ...

    def credential(
        self, badge: str, kind: CredentialKind, *, to_change: bool = False
    ) -> Credential | None:
        """With `to_change`, nobody else may change it until the transaction ends."""
        ...

    def credentials(self) -> list[Credential]: ...

    def save_credential(self, credential: Credential) -> None: ...


class Sessions(Protocol):
    def get(self, digest: str) -> OfficeSession | None: ...

    def of(self, badge: str) -> list[OfficeSession]:
        """Oldest first, those that have ended by themselves among them."""
        ...

    def add(self, session: OfficeSession) -> None: ...

    def see(self, digest: str, now: dt.datetime) -> None:
        """Notes that it was in use; does nothing to one that has ended."""
        ...

    def end(self, digest: str) -> None: ...

    def end_all_of(self, badge: str) -> None: ...

    def end_expired(self, now: dt.datetime) -> None: ...


class EventLog(Protocol):
    """The append-only log and what was set aside."""

    def lock(self) -> None:
        """Makes this transaction the only one that may append until it ends."""
        ...

    def head(self) -> int: ...

    def chain_head(self) -> tuple[int, str]:
        """Number and chain value of the last event or journal entry."""
        ...

    def count(self) -> int: ...

    def find(self, event_id: str) -> StoredEvent | None: ...

    def at(self, tablet: str, n: int) -> StoredEvent | None: ...

    def append(self, event: StoredEvent) -> StoredEvent:
        """Stores the event under the next sequence number, linked to the chain."""
        ...

    def of_setup(self, setup: str) -> list[StoredEvent]: ...

    def found(self, event_ids: Iterable[str]) -> dict[str, StoredEvent]:
        """Those of the named events that are here, by id."""
        ...

    def after(self, seq: int, limit: int) -> list[StoredEvent]: ...

    def setups(self) -> list[str]: ...

    def timings(self, setups: Iterable[str]) -> list[tuple[str, str, str, dt.datetime]]:
        """(setup, tablet, step, at) of records with a step, in each tablet's own order."""
        ...

    def set_aside(self, item: SetAside) -> bool:
        """Keeps the text once, however often it is sent; True the first time."""
        ...

    def set_asides(self, page: int, per_page: int) -> Page[SetAside]: ...


class Journal(Protocol):
    """What the server itself wrote down; append-only, in one order and chain with the events."""

    def add(
        self,
        kind: JournalKind,
        subject: str,
        body: Mapping[str, Any],
        at: dt.datetime,
        by: str | None = None,
    ) -> JournalEntry: ...

    def after(self, seq: int, limit: int) -> list[JournalEntry]: ...

    def of_kind(self, *kinds: JournalKind) -> list[JournalEntry]: ...

    def last(self, kind: JournalKind, subject: str | None = None) -> JournalEntry | None: ...

    def count(self) -> int: ...


class TabletRegister(Protocol):
    """Tablets, the codes that let them in, and their sessions."""

    def get(self, tablet: str) -> Tablet | None: ...

    def all(self) -> list[Tablet]: ...

    def save(self, tablet: Tablet) -> None: ...

    def see(self, tablet: str, build: str, now: dt.datetime) -> None: ...

    def advance(self, tablet: str, n: int) -> int:
        """Records that number `n` arrived; returns the highest gap-free number."""
        ...

    def add_code(self, code: EnrolCode) -> None: ...

    def use_code(self, digest: str, now: dt.datetime) -> EnrolCode | None:
        """Takes one use of the code; None when there is no such code, or it has ended."""
        ...

    def end_codes(self, now: dt.datetime) -> None: ...

    def session(self, digest: str) -> TabletSession | None: ...

    def open_session(self, session: TabletSession) -> None: ...

    def end_sessions(self, *, of: str | None = None, until: dt.datetime | None = None) -> None:
        """Ends a tablet's sessions, those that expired by `until`, or all."""
        ...


class Signatures(Protocol):
    def of_setup(self, setup: str) -> list[StoredSignature]: ...

    def of_setups(self, setups: Iterable[str]) -> list[StoredSignature]: ...

    def after(self, seq: int, up_to: int) -> list[StoredSignature]: ...

    def get(self, event: str) -> StoredSignature | None: ...

    def save(self, signature: StoredSignature, at: dt.datetime) -> StoredSignature:
        """Keeps the verdict, and writes it into the journal."""
        ...

    def with_sealed(self, sealed: str) -> StoredSignature | None:
        """The first signature made with this sealed PIN."""
        ...

    def due(self, now: dt.datetime) -> list[StoredSignature]: ...


class Setups(Protocol):
    """Projections of the log: setups, readings, and pulls per torque tool."""

    def get(self, setup: str) -> SetupSummary | None: ...

    def save(
        self,
        summary: SetupSummary,
        readings: list[PointReading] | None = None,
        pulls: dict[str, int] | None = None,
    ) -> None:
        """Writes the projection of one setup; `None` leaves its readings or pulls as they are."""
        ...

    def clear(self) -> None: ...

    def find(self, wanted: SetupFilter, page: int, per_page: int) -> Page[SetupSummary]: ...

    def of_plate(self, plate: str) -> list[SetupSummary]: ...

    def newest(self, limit: int) -> list[SetupSummary]: ...

    def all(self) -> list[SetupSummary]: ...

    def readings(
        self, plate: str | None = None, point: str | None = None, state: str | None = None
    ) -> list[PointReading]: ...

    def readings_of(self, setups: Iterable[str]) -> list[PointReading]: ...

    def pulls(self) -> dict[str, int]: ...


class Shop(Protocol):
    def meta(self) -> ShopMeta: ...

    def version(self) -> int: ...

    def name(self, name: str) -> None: ...

    def set_watermark(self, seq: int | None) -> None: ...

    def set_epoch(self, epoch: str) -> None: ...

    def bump(self) -> int:
        """Has tablets fetch the shop anew; called first, it keeps other changes waiting."""
        ...

    def probe(self, value: str) -> None: ...

    def probed(self) -> str | None: ...

    def dialect(self) -> str: ...
