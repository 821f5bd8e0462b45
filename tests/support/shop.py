"""A small shop on a real database: a released revision, a plate, stores, crew with PINs."""

from __future__ import annotations

import datetime as dt
import tempfile
from base64 import b64encode
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Protocol

from api.domain.events import Event, covered_hash, hash_of, sealing_info
from api.domain.people import Person, Role
from api.domain.plates import Plate
from api.domain.records import ItemVersion, Revision, TabletSession
from api.domain.stores import key_of
from api.paths import share
from api.routes.api.sessions import TABLET_COOKIE
from api.security.pins import ArgonPins
from api.security.sealing import KeyRing, load_or_make
from api.security.tablet_keys import TabletKeys
from api.security.tokens import RandomTokens
from api.storage import migrate
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases import credentials, records, stores, tablets
from api.use_cases.demo.stores import KINDS, items
from api.use_cases.ports import Means
from api.use_cases.records import Accepted
from tests.support.analyser import QuickAnalyser
from tests.support.filled import filled
from tests.support.script import REVISION_HASH, Tablet, layout, steps_of

STEPS = steps_of(layout())
SETUP = "01920000-0000-7000-8000-000000000abc"
PINS = {"B-01": "4101", "B-02": "4102", "B-03": "4103"}
OWNER = Person(badge="B-05", role=Role.OWNER)
LEAD = Person(badge="B-03", role=Role.LEAD)
ENGINEER = Person(badge="B-04", role=Role.ENGINEER)
OPERATOR = Person(badge="B-01", role=Role.OPERATOR)
CREW = [OPERATOR, Person(badge="B-02", role=Role.OPERATOR), LEAD, ENGINEER, OWNER]
TOOL: dict[str, Any] = {
    "serial": "T-03",
    "title": "Click wrench",
    "kind": "click",
    "unit": "N*m",
    "low": 3,
    "high": 15,
    "graduation": 0.1,
    "calibrated": "2026-06-01",
    "due": "2027-06-01",
}
INDICATOR: dict[str, Any] = {
    "serial": "I-01",
    "title": "Dial",
    "kind": "dial",
    "unit": "mm",
    "graduation": 0.01,
    "per_turn": 1,
    "travel": 10,
    "due": "2027-06-01",
}


@dataclass
class SteppedClock:
    """A clock that stands until a test moves it."""

    at: dt.datetime = field(default_factory=lambda: dt.datetime(2026, 11, 24, 9, tzinfo=dt.UTC))

    def now(self) -> dt.datetime:
        return self.at

    def forward(self, seconds: float) -> None:
        self.at += dt.timedelta(seconds=seconds)


@dataclass
class Shop:
    database: Database
    clock: SteppedClock
    keys: KeyRing
    means: Means
    analyser: QuickAnalyser

    @property
    def uow(self) -> SqlUnitOfWork:
        return SqlUnitOfWork(self.database)

    @property
    def reader(self) -> SqlUnitOfWork:
        return SqlUnitOfWork(self.database, read_only=True)

    def tablet(self, name: str = "tab-1", *, setup: str = SETUP, person: str = "B-01") -> Tablet:
        """Enrolled here, unless it is already."""
        tablet = Tablet(name, setup=setup, person=person)
        enrol(self, tablet)
        return tablet

    def push(
        self, tablet: Tablet, texts: Sequence[object] | None = None, sender: str | None = None
    ) -> Accepted:
        return push(self, tablet, texts, sender)

    def sign(self, tablet: Tablet, covered: list[Event], pin: str, **more: Any) -> Event:
        """A signature over `covered` with the PIN sealed as a tablet does it."""
        texts = {event.id: text for event, text in covered_texts(tablet, covered)}
        fingerprint = covered_hash([hash_of(texts[event.id]) for event in covered])
        meaning = more.get("meaning", "tightened by")
        info = sealing_info(tablet.setup, fingerprint, tablet.person, meaning, tablet.name)
        sealed = b64encode(self.keys.seal(pin.encode(), info)).decode()
        return tablet.sign(covered, **{"sealed": sealed, "key": self.keys.key_id, **more})


class Place(Protocol):
    """Any shop of the tests."""

    @property
    def uow(self) -> SqlUnitOfWork: ...

    @property
    def means(self) -> Means: ...


def enrol(shop: Place, tablet: Tablet) -> None:
    """As a lead and the tablet do it, with a code, unless the tablet is known already."""
    with shop.uow as uow:
        if uow.tablets.get(tablet.name) is not None:
            return
    code = tablets.plain_code(tablets.make_code(shop.uow, shop.means, tablet.name, LEAD).code)
    proof = tablet.key.sign(tablets.enrol_text(code, tablet.name))
    tablets.enrol(shop.uow, shop.means, code, tablet.name, tablet.key.public, proof, "test")


def session_cookie(shop: Place, tablet: Tablet) -> dict[str, str]:
    """A session put into the database as it is, for a server whose own commits are counted."""
    enrol(shop, tablet)
    token, now = shop.means.tokens.new(), dt.datetime.now(dt.UTC)
    session = TabletSession(
        shop.means.tokens.digest(token), tablet.name, now, now + tablets.SESSION
    )
    with shop.uow as uow:
        uow.tablets.open_session(session)
        uow.commit()
    return {TABLET_COOKIE: token}


def push(
    shop: Place, tablet: Tablet, texts: Sequence[object] | None = None, sender: str | None = None
) -> Accepted:
    """What the tablet signed, sent by itself unless another one carries it."""
    enrol(shop, tablet)
    sent = tablet.texts if texts is None else texts
    return records.accept_events(
        shop.uow, shop.means, sender or tablet.name, "test", sent, tablet.sigs(sent)
    )


def covered_texts(tablet: Tablet, events: list[Event]) -> list[tuple[Event, str]]:
    by_number = dict(enumerate(tablet.texts, start=1))
    return [(event, by_number[event.n]) for event in events]


def make_shop(url: str, keys_folder: Path) -> Shop:
    """The shop on a database that does not exist yet."""
    return open_shop(filled(url, fill_shop), keys_folder)


def open_shop(database: Database, keys_folder: Path) -> Shop:
    clock, keys, analyser = SteppedClock(), load_or_make(keys_folder), QuickAnalyser()
    means = Means(clock, ArgonPins(), keys, RandomTokens(), analyser, TabletKeys())
    return Shop(database, clock, keys, means, analyser)


def fill_shop(database: Database) -> None:
    """What every shop here begins with; nothing of it depends on the sealing key."""
    migrate.upgrade(database, share("migrations"))
    with tempfile.TemporaryDirectory() as keys_folder:
        shop = open_shop(database, Path(keys_folder))
        with shop.uow as uow:
            for person in CREW:
                uow.people.save(person)
            for badge, pin in PINS.items():
                credentials.set_secret(uow, shop.means, badge, "pin", pin)
            uow.designs.save(revision(shop.clock.now()))
            uow.plates.save(Plate(serial="SAD-20-001", design="SAD-20"))
            uow.commit()
        stores.save_item(shop.uow, shop.means, "tool", TOOL, OWNER)
        stores.save_item(shop.uow, shop.means, "indicator", INDICATOR, OWNER)


def stock(shop: Shop) -> None:
    """The demonstration's stores, so that a design finds what it names."""
    now, folder = shop.clock.now(), share("seed_data")
    with shop.uow as uow:
        for kind in KINDS:
            for body in items(folder, kind, now.date()):
                item = stores.check_item(kind, body)
                kept = item.model_dump(mode="json")
                if uow.items.get(kind, key_of(item)) is None:
                    uow.items.add(ItemVersion(kind, key_of(item), 1, kept, now, OWNER.badge))
        uow.commit()


def revision(now: dt.datetime, **changes: Any) -> Revision:
    """Revision B of SAD-20, released, with the small plan of `tests.support.script`."""
    fields: dict[str, Any] = {
        "code": "SAD-20",
        "revision": "B",
        "title": "Dovetail saddle",
        "state": "released",
        "document": {"code": "SAD-20"},
        "source": 'code = "SAD-20"',
        "hash": REVISION_HASH,
        "loaded_by": "B-04",
        "loaded_at": now,
        "sheet": {"design": "SAD-20", "revision": "B", "steps": STEPS},
        "released_by": "B-04",
        "released_at": now,
    }
    return Revision(**{**fields, **changes})
