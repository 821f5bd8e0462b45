"""The stores: versions, checks, and who may change them."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest

from api.domain.errors import BadInput, NotAllowed, NotFound
from api.domain.people import Person
from api.use_cases import stores
from tests.support.shop import ENGINEER, LEAD, OPERATOR, STEPS, TOOL, Shop


def test_a_change_adds_a_version_and_leaves_the_old_one_readable(shop: Shop) -> None:
    stores.save_item(shop.uow, shop.means, "tool", TOOL | {"due": "2027-12-01"}, LEAD)
    versions = stores.item_history(shop.reader, "tool", "T-03")
    assert [(one.n, one.body["due"], one.by) for one in versions] == [
        (2, "2027-12-01", "B-03"),
        (1, "2027-06-01", "B-05"),
    ]
    assert stores.get_item(shop.reader, "tool", "T-03").version.n == 2
    assert [one.version.n for one in stores.list_items(shop.reader, "tool")] == [2]


def test_saving_the_same_content_adds_no_version(shop: Shop) -> None:
    stores.save_item(shop.uow, shop.means, "tool", TOOL, LEAD)
    assert len(stores.item_history(shop.reader, "tool", "T-03")) == 1


@pytest.mark.parametrize("by", [OPERATOR, ENGINEER])
def test_others_do_not_change_the_stores(shop: Shop, by: Person) -> None:
    with pytest.raises(NotAllowed, match="lead, owner"):
        stores.save_item(shop.uow, shop.means, "tool", TOOL | {"note": "mine"}, by)


MALFORMED: list[tuple[dict[str, Any], str]] = [
    ({"serial": ""}, "serial"),
    ({"serial": "a\0b"}, "serial"),
    ({"low": -1}, "low"),
    ({"low": 20}, "tool"),
    ({"high": float("nan")}, "high"),
    ({"due": "tomorrow"}, "due"),
    ({"unit": "Nm"}, "unit"),
    ({"extra": 1}, "extra"),
    ({"title": "x" * 1_000_000}, "title"),
]


def test_a_malformed_item_names_the_field_and_changes_nothing(shop: Shop) -> None:
    for change, field in MALFORMED:
        with pytest.raises(BadInput) as caught:
            stores.save_item(shop.uow, shop.means, "tool", TOOL | change, LEAD)
        assert len(caught.value.message) < 300
        assert caught.value.where.get("field", "") in (field, "")
    assert len(stores.item_history(shop.reader, "tool", "T-03")) == 1


def test_pulls_are_counted_from_the_setups(shop: Shop) -> None:
    stores.save_item(shop.uow, shop.means, "tool", TOOL | {"pulls_before": 100}, LEAD)
    tablet = shop.tablet()
    tablet.open()
    list(tablet.work(STEPS, "sign"))
    shop.push(tablet)
    tightened = sum('"clamp tightened"' in text for text in tablet.texts)
    rechecked = sum('"recheck/' in text for text in tablet.texts)
    assert stores.get_item(shop.reader, "tool", "T-03").pulls == 100 + tightened + rechecked


def test_unknown_items_and_shelves_are_not_found(shop: Shop) -> None:
    with pytest.raises(NotFound):
        stores.get_item(shop.reader, "tool", "T-99")
    with pytest.raises(NotFound):
        stores.item_history(shop.reader, "indicator", "T-03")
    with pytest.raises(NotFound, match="no shelf"):
        stores.list_items(shop.reader, "hammer")  # type: ignore[arg-type]


def test_changes_to_one_item_at_once_come_one_after_the_other(shop: Shop) -> None:
    def change(number: int) -> None:
        body = TOOL | {"note": f"change {number}"}
        stores.save_item(shop.uow, shop.means, "tool", body, LEAD)

    with ThreadPoolExecutor(8) as pool:
        list(pool.map(change, range(8)))
    versions = stores.item_history(shop.reader, "tool", "T-03")
    assert [one.n for one in versions] == list(range(9, 0, -1))
