"""One transaction around a whole filling: what it wrote is remembered, not asked for again.

The filling holds the one transaction that may append, and the log was empty when it began, so
memory and log cannot differ. Every event is still appended by the log itself.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import replace
from typing import Self

from api.domain.records import (
    EnrolCode,
    ItemVersion,
    Page,
    Revision,
    SetAside,
    ShopMeta,
    StoredEvent,
    Tablet,
    TabletSession,
)
from api.domain.stores import ItemKind
from api.use_cases.ports import Designs, EventLog, Items, Shop, TabletRegister, UnitOfWork

Timing = tuple[str, str, str, dt.datetime]


class Ledger:
    """An `EventLog` in front of the real one, for whoever begins with an empty log."""

    def __init__(self, log: EventLog) -> None:
        log.lock()
        self._log = log
        self._by_id: dict[str, StoredEvent] = {}
        self._by_number: dict[tuple[str, int], StoredEvent] = {}
        self._by_setup: dict[str, list[StoredEvent]] = {}
        self._last = log.head()

    def lock(self) -> None:
        """Held since the beginning."""

    def chain_head(self) -> tuple[int, str]:
        return self._log.chain_head()

    def count(self) -> int:
        return len(self._by_id)

    def find(self, event_id: str) -> StoredEvent | None:
        return self._by_id.get(event_id)

    def at(self, tablet: str, n: int) -> StoredEvent | None:
        return self._by_number.get((tablet, n))

    def found(self, event_ids: Iterable[str]) -> dict[str, StoredEvent]:
        return {one: self._by_id[one] for one in event_ids if one in self._by_id}

    def of_setup(self, setup: str) -> list[StoredEvent]:
        return list(self._by_setup.get(setup, ()))

    def append(self, event: StoredEvent) -> StoredEvent:
        stored = self._log.append(event)
        self._last = stored.seq
        self._by_id[stored.id] = stored
        self._by_number[stored.tablet, stored.n] = stored
        self._by_setup.setdefault(stored.setup, []).append(stored)
        return stored

    def head(self) -> int:
        """The last record's number; verdicts on signatures, which are numbered too, left out."""
        return self._last

    def after(self, seq: int, limit: int) -> list[StoredEvent]:
        return self._log.after(seq, limit)

    def setups(self) -> list[str]:
        return self._log.setups()

    def timings(self, setups: Iterable[str]) -> list[Timing]:
        return self._log.timings(setups)

    def set_aside(self, item: SetAside) -> bool:
        return self._log.set_aside(item)

    def set_asides(self, page: int, per_page: int) -> Page[SetAside]:
        return self._log.set_asides(page, per_page)


class Roster:
    """The tablets in front of the real ones; how far they have come is counted in memory."""

    def __init__(self, tablets: TabletRegister, log: Ledger) -> None:
        self._tablets, self._log = tablets, log
        self._known: dict[str, Tablet] = {}

    def get(self, tablet: str) -> Tablet | None:
        return self._known.get(tablet)

    def all(self) -> list[Tablet]:
        return list(self._known.values())

    def save(self, tablet: Tablet) -> None:
        self._known[tablet.id] = tablet
        self._tablets.save(tablet)

    def see(self, tablet: str, build: str, now: dt.datetime) -> None:
        known = self._known.get(tablet) or Tablet(tablet, now, now, build, 0, 0)
        self._known[tablet] = replace(known, last_seen=now, build=build)
        self._tablets.see(tablet, build, now)

    def advance(self, tablet: str, n: int) -> int:
        """Counts in memory; `settle` tells the register."""
        known = self._known[tablet]
        contiguous = known.contiguous
        while self._log.at(tablet, contiguous + 1):
            contiguous += 1
        self._known[tablet] = replace(known, contiguous=contiguous, highest=max(known.highest, n))
        return contiguous

    def settle(self) -> None:
        for tablet in self._known.values():
            self._tablets.save(tablet)

    def add_code(self, code: EnrolCode) -> None:
        self._tablets.add_code(code)

    def use_code(self, digest: str, now: dt.datetime) -> EnrolCode | None:
        return self._tablets.use_code(digest, now)

    def end_codes(self, now: dt.datetime) -> None:
        self._tablets.end_codes(now)

    def session(self, digest: str) -> TabletSession | None:
        return self._tablets.session(digest)

    def open_session(self, session: TabletSession) -> None:
        self._tablets.open_session(session)

    def end_sessions(self, *, of: str | None = None, until: dt.datetime | None = None) -> None:
        self._tablets.end_sessions(of=of, until=until)


class Counter:
    """The shop's facts in front of the real ones; its version is counted along."""

    def __init__(self, shop: Shop) -> None:
        self._shop = shop
        self._version = shop.version()
        self._meta = shop.meta()

    def version(self) -> int:
        return self._version

    def bump(self) -> int:
        self._version = self._shop.bump()
        return self._version

    def meta(self) -> ShopMeta:
        return replace(self._meta, version=self._version)

    def set_watermark(self, seq: int | None) -> None:
        self._shop.set_watermark(seq)
        self._meta = self._shop.meta()

    def set_epoch(self, epoch: str) -> None:
        self._shop.set_epoch(epoch)
        self._meta = self._shop.meta()

    def name(self, name: str) -> None:
        self._shop.name(name)
        self._meta = self._shop.meta()

    def probe(self, value: str) -> None:
        self._shop.probe(value)

    def probed(self) -> str | None:
        return self._shop.probed()

    def dialect(self) -> str:
        return self._shop.dialect()


class Shelves:
    """The stores' items in front of the real ones."""

    def __init__(self, items: Items) -> None:
        self._items = items
        self._current: dict[ItemKind, list[ItemVersion]] = {}

    def current(self, kind: ItemKind) -> list[ItemVersion]:
        if kind not in self._current:
            self._current[kind] = self._items.current(kind)
        return list(self._current[kind])

    def get(self, kind: ItemKind, key: str) -> ItemVersion | None:
        return self._items.get(kind, key)

    def history(self, kind: ItemKind, key: str) -> list[ItemVersion]:
        return self._items.history(kind, key)

    def add(self, version: ItemVersion) -> None:
        self._items.add(version)
        self._current.clear()


class Drawings:
    """The designs in front of the real ones."""

    def __init__(self, designs: Designs) -> None:
        self._designs = designs
        self._all: list[Revision] | None = None

    def get(self, code: str, revision: str) -> Revision | None:
        found = (one for one in self.all() if (one.code, one.revision) == (code, revision))
        return next(found, None)

    def all(self) -> list[Revision]:
        if self._all is None:
            self._all = self._designs.all()
        return list(self._all)

    def save(self, revision: Revision) -> None:
        self._designs.save(revision)
        self._all = None


class Joined:
    """Stands for `uow`, which has begun; its own beginnings and commits are the outer one's."""

    def __init__(self, uow: UnitOfWork) -> None:
        self.designs = Drawings(uow.designs)
        self.analyses = uow.analyses
        self.plates = uow.plates
        self.items = Shelves(uow.items)
        self.people = uow.people
        self.sessions = uow.sessions
        self.events = Ledger(uow.events)
        self.journal = uow.journal
        self.tablets = Roster(uow.tablets, self.events)
        self.signatures = uow.signatures
        self.questions = uow.questions
        self.setups = uow.setups
        self.shop = Counter(uow.shop)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: object, error: object, trace: object, /) -> None:
        """An error goes on to the outer unit of work, which undoes everything."""

    def commit(self) -> None:
        """Left to the outer unit of work."""
