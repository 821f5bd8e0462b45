"""What a tablet is handed to work alone."""

from __future__ import annotations

from api.domain.people import Person, Role
from api.use_cases import designs, records
from api.use_cases.shop import shop_data
from tests.support.script import Tablet
from tests.support.shop import STEPS, Shop

ENGINEER = Person(badge="B-04", role=Role.ENGINEER)


def setup_id(number: int) -> str:
    return f"01920000-0000-7000-8000-{number:012d}"


def written(shop: Shop, number: int, until: str | None) -> int:
    """One more setup on the log; returns the log's head before it."""
    tablet = shop.tablet(f"tab-{number}", setup=setup_id(number))
    tablet.open()
    list(tablet.work(STEPS, until))
    head = records.head(shop.reader)
    shop.push(tablet)
    return head


def test_a_new_tablet_begins_at_the_oldest_setup_that_is_not_over(shop: Shop) -> None:
    tablet = Tablet("tab-1", setup="01920000-0000-7000-8000-000000000001")
    tablet.open()
    tablet.write("abandoned", None, reason="wrong plate")
    shop.push(tablet)
    begun = written(shop, 2, "load/P1")
    written(shop, 3, "load/P1")
    with shop.reader as uow:
        first = uow.events.of_setup(setup_id(2))[0].seq
    assert begun < first
    assert shop_data(shop.reader, shop.means).start == first - 1


def test_a_new_tablet_of_a_quiet_shop_begins_at_the_head(shop: Shop) -> None:
    tablet = Tablet("tab-1", setup="01920000-0000-7000-8000-000000000001")
    tablet.open()
    tablet.write("abandoned", None, reason="wrong plate")
    shop.push(tablet)
    assert shop_data(shop.reader, shop.means).start == records.head(shop.reader)


def test_a_withdrawn_revision_stays_on_the_tablets_while_a_plate_is_set_up_to_it(
    shop: Shop,
) -> None:
    written(shop, 1, "load/P1")
    designs.withdraw_revision(shop.uow, shop.means, "SAD-20", "B", ENGINEER)
    assert [one["revision"] for one in shop_data(shop.reader, shop.means).sheets] == ["B"]
