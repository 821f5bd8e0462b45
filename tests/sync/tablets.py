"""What the tests of tablets ask of a shop."""

from __future__ import annotations

import json
from typing import Any

from api.domain.people import Person
from api.domain.records import JournalKind, Tablet
from api.security.tablet_keys import TabletKey
from api.use_cases import tablets
from api.use_cases.records import Accepted, Seen, accept_events
from tests.support.script import Tablet as Writer
from tests.support.script import key_of
from tests.support.shop import LEAD, STEPS, Shop


def begun(shop: Shop, name: str = "tab-1") -> Writer:
    tablet = shop.tablet(name)
    tablet.open()
    list(tablet.work(STEPS, "free/C1"))
    return tablet


def told(shop: Shop, kind: JournalKind) -> list[dict[str, Any]]:
    with shop.reader as uow:
        return [json.loads(one.body) for one in uow.journal.of_kind(kind)]


def known(shop: Shop, name: str = "tab-1") -> Tablet:
    with shop.reader as uow:
        found = uow.tablets.get(name)
    assert found is not None
    return found


def ask(
    shop: Shop, code: str, name: str = "tab-1", key: TabletKey | None = None
) -> tablets.Enrolled:
    key, plain = key or key_of(name), tablets.plain_code(code)
    proof = key.sign(tablets.enrol_text(plain, name))
    return tablets.enrol(shop.uow, shop.means, code, name, key.public, proof, "test")


def new_code(shop: Shop, name: str = "Bench 1", by: Person = LEAD) -> str:
    return tablets.make_code(shop.uow, shop.means, name, by).code


def send(shop: Shop, tablet: Writer, seen: Seen | None = None) -> Accepted:
    return accept_events(
        shop.uow, shop.means, tablet.name, "test", tablet.texts, tablet.sigs(), seen=seen
    )
