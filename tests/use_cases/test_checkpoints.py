"""When checkpoints are made, and what they say."""

from __future__ import annotations

from pathlib import Path

import pytest

from api.domain.errors import Unavailable
from api.security.checkpoint_file import ShopNotary, open_notary
from api.use_cases.checkpoints import make_checkpoint, make_due_checkpoint, newest_checkpoint
from tests.support.shop import Shop
from tests.support.shop_fixture import shop

__all__ = ["shop"]
DAY_S = 24 * 3600


@pytest.fixture
def notary(tmp_path: Path) -> ShopNotary:
    return open_notary(tmp_path / "keys", tmp_path / "checkpoints")


def test_a_new_shop_gets_one_at_once_and_then_one_a_day(shop: Shop, notary: ShopNotary) -> None:
    due = [make_due_checkpoint(shop.uow, shop.means, notary) for _ in range(2)]
    assert [one.why if one else None for one in due] == ["new shop", None]
    shop.clock.forward(DAY_S - 1)
    assert make_due_checkpoint(shop.uow, shop.means, notary) is None
    shop.clock.forward(1)
    made = make_due_checkpoint(shop.uow, shop.means, notary)
    assert made is not None
    assert made.why == "daily"
    assert newest_checkpoint(shop.reader) == made


def test_a_clock_that_was_set_back_does_not_stop_them(shop: Shop, notary: ShopNotary) -> None:
    make_due_checkpoint(shop.uow, shop.means, notary)
    shop.clock.forward(-DAY_S)
    assert make_due_checkpoint(shop.uow, shop.means, notary) is not None


def test_it_says_how_far_the_records_had_come(shop: Shop, notary: ShopNotary) -> None:
    tablet = shop.tablet()
    tablet.open()
    shop.push(tablet)
    with shop.reader as uow:
        head = uow.events.chain_head()
        count = uow.events.count() + uow.journal.count()
    made = make_checkpoint(shop.uow, shop.means, notary, "test")
    assert (made.seq, made.head, made.count) == (*head, count)
    assert list(notary.published()) == [made]
    with shop.reader as uow:
        entry = uow.journal.last("checkpoint", str(made.seq))
    assert entry is not None
    assert entry.seq == made.seq + 1


def test_nothing_is_in_the_journal_that_could_not_be_published(shop: Shop, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    notary = open_notary(tmp_path / "keys", tmp_path / "file" / "checkpoints")
    with pytest.raises(Unavailable):
        make_checkpoint(shop.uow, shop.means, notary, "test")
    assert newest_checkpoint(shop.reader) is None
