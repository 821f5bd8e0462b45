"""What arrives late, never, or under a name that is taken; each ends with the invariants."""

from __future__ import annotations

import json
import uuid

import pytest

from api.use_cases.setups import get_setup
from tests.support.invariants import Held, all_sent, assert_invariants
from tests.support.script import Tablet
from tests.support.shop import SETUP, STEPS, Shop


def worked(shop: Shop, name: str = "tab-1") -> Tablet:
    tablet = shop.tablet(name, setup=str(uuid.uuid4()))
    tablet.open()
    list(tablet.work(STEPS, "sign"))
    return tablet


@pytest.mark.parametrize("lost", [[1], [3], [4, 5], [2, 9]], ids=str)
def test_an_event_that_never_arrives_is_a_gap_by_number_and_stops_nothing(
    shop: Shop, lost: list[int]
) -> None:
    tablet, other = worked(shop), worked(shop, "tab-2")
    kept = [text for n, text in enumerate(tablet.texts, start=1) if n not in lost]
    taken = shop.push(tablet, kept)
    shop.push(other)
    assert {one.outcome for one in taken.results} == {"stored"}
    assert taken.contiguous == lost[0] - 1
    ticked = dict(enumerate(tablet.texts, start=1))
    assert_invariants(
        shop.database,
        [Held(tablet.name, ticked, outbox=lost), all_sent(other.name, other.texts)],
        gaps={tablet.name: lost},
    )


def test_a_gap_on_one_tablet_is_not_looked_for_on_another(shop: Shop) -> None:
    tablet, other = worked(shop), worked(shop, "tab-2")
    shop.push(tablet, tablet.texts[:2] + tablet.texts[4:])
    taken = shop.push(other)
    assert taken.contiguous == len(other.texts)
    assert {flag for one in taken.results for flag in one.flags} == set()


def test_batches_in_any_order_of_two_tablets_end_alike(shop: Shop) -> None:
    tablets = [worked(shop, "tab-1"), worked(shop, "tab-2")]
    longest = max(len(one.texts) for one in tablets)
    for start in range(longest - longest % 3, -1, -3):
        for one in tablets:
            shop.push(one, one.texts[start : start + 3])
    for one in tablets:
        assert get_setup(shop.reader, one.setup).state.odd == []
    assert_invariants(shop.database, [all_sent(one.name, one.texts) for one in tablets])


def test_the_same_id_with_other_bytes_is_kept_beside_and_the_first_stays_as_it_was(
    shop: Shop,
) -> None:
    tablet = worked(shop)
    shop.push(tablet)
    before = assert_invariants(shop.database, [all_sent(tablet.name, tablet.texts)])
    other = json.dumps(json.loads(tablet.texts[4]) | {"person": "B-02"})
    taken = shop.push(tablet, [other])
    assert [one.outcome for one in taken.results] == ["set aside"]
    after = assert_invariants(shop.database, [all_sent(tablet.name, tablet.texts)], before=before)
    assert [row["text"] for row in after["set_aside"].values()] == [other]


def test_a_clones_records_are_kept_whole_beside_those_of_the_first(shop: Shop) -> None:
    """A copied profile writes the same numbers with the same key; neither loses a record."""
    first, clone = shop.tablet(), Tablet("tab-1", setup=SETUP, person="B-02")
    for one in (first, clone):
        one.open()
        list(one.work(STEPS, "torque/1/C1"))
    shop.push(first)
    taken = shop.push(clone)
    assert {one.outcome for one in taken.results} == {"set aside"}
    assert taken.tablet == "forked"
    held = [all_sent("tab-1", first.texts), all_sent("tab-1", clone.texts)]
    assert_invariants(shop.database, held)
    with shop.reader as uow:
        assert len(uow.journal.of_kind("tablet forked")) == 1


def test_two_answers_to_one_step_both_stand_in_either_order(shop: Shop) -> None:
    one = shop.tablet("tab-1")
    one.open()
    list(one.work(STEPS, "torque/2/C1"))
    shop.push(one)
    other = shop.tablet("tab-2", person="B-02")
    one.tighten("torque/2/C1", "12.0")
    other.tighten("torque/2/C1", "11.5")
    shop.push(other)
    shop.push(one, one.texts[-1:])
    summary = get_setup(shop.reader, SETUP).summary
    assert summary is not None
    assert "two answers" in summary.flags
    assert_invariants(shop.database, [all_sent(t.name, t.texts) for t in (one, other)])


def test_a_reading_after_the_signature_shows_and_asks_for_another(shop: Shop) -> None:
    tablet = shop.tablet()
    events = [tablet.open(), *tablet.work(STEPS, "sign")]
    shop.sign(tablet, events, "4101")
    shop.push(tablet)
    before = assert_invariants(shop.database, [all_sent(tablet.name, tablet.texts)])
    tablet.reading("read/A/torqued locked", "0.01")
    taken = shop.push(tablet, tablet.texts[-1:])
    assert "after signature" in taken.results[0].flags
    record = get_setup(shop.reader, SETUP)
    assert record.summary is not None
    assert record.summary.step == "sign"
    assert record.state.after_signature == [record.events[-1].event.id]
    assert_invariants(shop.database, [all_sent(tablet.name, tablet.texts)], before=before)
