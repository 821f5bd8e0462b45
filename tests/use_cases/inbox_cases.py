"""Shops with something to settle, for the tests of the lead's list and of the desk."""

from __future__ import annotations

import pytest

from api.domain.inbox import Item
from api.domain.people import Person, Role
from api.security.office_key import OfficeKey, load_office_key
from api.use_cases import inbox
from tests.support.script import Tablet
from tests.support.shop import (
    LEAD,
    PINS,
    STEPS,
    Shop,
)

AUDITOR = Person(badge="B-09", role=Role.AUDITOR)
HOUR = 3600.0
READ = "read/A/torqued locked"
OTHER = "01920000-0000-7000-8000-000000000bbb"


@pytest.fixture
def pen(shop: Shop, tmp_path_factory: pytest.TempPathFactory) -> OfficeKey:
    return load_office_key(tmp_path_factory.mktemp("keys"))


def items(shop: Shop, kind: str = "") -> list[Item]:
    listed = inbox.list_items(shop.reader, shop.means, AUDITOR)
    return [one for one in listed.page.items if kind in ("", one.kind)]


def only(shop: Shop, kind: str) -> Item:
    found = items(shop, kind)
    assert [one.kind for one in found] == [kind]
    return found[0]


def settle(shop: Shop, pen: OfficeKey, item: Item, reason: str, keep: str | None = None) -> None:
    inbox.settle(shop.uow, shop.means, pen, item.kind, item.key, reason, LEAD, keep)


def worked(shop: Shop, tablet: Tablet) -> list[object]:
    """A setup done up to its signature."""
    events: list[object] = [tablet.open(), *tablet.work(STEPS, "sign")]
    return events


def signed(shop: Shop, tablet: Tablet, pin: str = PINS["B-01"]) -> None:
    events = [tablet.open(), *tablet.work(STEPS, "sign")]
    shop.sign(tablet, events, pin)
    shop.push(tablet)


def two_answers(shop: Shop) -> tuple[Tablet, Tablet]:
    """The first step of the setup, answered by two tablets out of each other's sight."""
    first, second = shop.tablet("tab-1"), shop.tablet("tab-2", person="B-02")
    first.open()
    first.do(STEPS[0])
    second.do(STEPS[0])
    shop.push(first)
    shop.push(second)
    return first, second
