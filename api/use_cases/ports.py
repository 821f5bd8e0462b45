"""What the use cases need from outside: a unit of work, a clock, a keeper of secrets, keys.

`with uow:` begins a transaction; leaving the block without `uow.commit()` rolls back.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol, Self

from api.domain.people import Person
from api.domain.plates import Plate
from api.domain.records import (
    Credential,
    CredentialKind,
    Hold,
    ItemVersion,
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
)
from api.domain.stores import ItemKind


class Clock(Protocol):
    def now(self) -> dt.datetime: ...


class PinKeeper(Protocol):
    """Hashes PINs and passwords slowly, and compares them."""

    def hash(self, secret: str) -> str: ...

    def verify(self, secret: str, hashed: str) -> bool: ...


class Opener(Protocol):
    """The server's private key: opens what tablets have sealed."""

    @property
    def key_id(self) -> str: ...

    @property
    def public(self) -> bytes: ...

    def open(self, key_id: str, sealed: bytes, info: bytes) -> bytes:
        """The plain text; raises `BadInput` if it was sealed otherwise or for another key."""
        ...


class Sealer(Protocol):
    """What a tablet does with a PIN; the demonstration shop signs its past setups with it."""

    @property
    def key_id(self) -> str: ...

    def seal(self, plain: bytes, info: bytes) -> bytes: ...


class Tokens(Protocol):
    def new(self) -> str: ...

    def digest(self, token: str) -> str: ...


@dataclass(frozen=True, slots=True)
class Means:
    """What a use case is handed beside its unit of work."""

    clock: Clock
    pins: PinKeeper
    opener: Opener
    tokens: Tokens


class Designs(Protocol):
    def get(self, code: str, revision: str) -> Revision | None: ...

    def all(self) -> list[Revision]: ...

    def save(self, revision: Revision) -> None: ...


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

    def add(self, session: OfficeSession) -> None: ...

    def end(self, digest: str) -> None: ...

    def end_all_of(self, badge: str) -> None: ...

    def end_expired(self, now: dt.datetime) -> None: ...


class EventLog(Protocol):
    """The append-only log, its two chains and what was set aside."""

    def lock(self) -> None:
        """Makes this transaction the only one that may append until it ends."""
        ...

    def head(self) -> int: ...

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

    def tablet(self, tablet: str) -> Tablet | None: ...

    def tablets(self) -> list[Tablet]: ...

    def see_tablet(self, tablet: str, build: str, now: dt.datetime) -> None: ...

    def advance(self, tablet: str, n: int) -> int:
        """Records that number `n` arrived; returns the highest gap-free number."""
        ...

    def set_aside(self, item: SetAside) -> None:
        """Keeps the text once, however often it is sent."""
        ...

    def set_asides(self, page: int, per_page: int) -> Page[SetAside]: ...


class Signatures(Protocol):
    def of_setup(self, setup: str) -> list[StoredSignature]: ...

    def of_setups(self, setups: Iterable[str]) -> list[StoredSignature]: ...

    def after(self, seq: int, up_to: int) -> list[StoredSignature]: ...

    def get(self, event: str) -> StoredSignature | None: ...

    def save(self, signature: StoredSignature) -> StoredSignature:
        """Stores the verdict under the next sequence number."""
        ...

    def due(self, now: dt.datetime) -> list[StoredSignature]: ...

    def doubtful(self) -> list[StoredSignature]:
        """Refused or still provisional, newest verdict first."""
        ...


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

    def bump(self) -> int:
        """Has tablets fetch the shop anew; called first, it keeps other changes waiting."""
        ...

    def probe(self, value: str) -> None: ...

    def probed(self) -> str | None: ...

    def dialect(self) -> str: ...


class UnitOfWork(Protocol):
    @property
    def designs(self) -> Designs: ...

    @property
    def plates(self) -> Plates: ...

    @property
    def items(self) -> Items: ...

    @property
    def people(self) -> People: ...

    @property
    def sessions(self) -> Sessions: ...

    @property
    def events(self) -> EventLog: ...

    @property
    def signatures(self) -> Signatures: ...

    @property
    def setups(self) -> Setups: ...

    @property
    def shop(self) -> Shop: ...

    def __enter__(self) -> Self: ...

    def __exit__(self, kind: object, error: object, trace: object, /) -> None: ...

    def commit(self) -> None: ...
