"""What waits for a lead: each kind of item, when it is there and when it goes."""

from __future__ import annotations

import json

import pytest

from api.security.office_key import OfficeKey
from api.use_cases import inbox, tablets
from api.use_cases.ports import UnitOfWork
from api.use_cases.records import Seen, accept_events, folding
from tests.support.script import Tablet
from tests.support.shop import (
    LEAD,
    PINS,
    SETUP,
    STEPS,
    Shop,
)
from tests.use_cases.inbox_cases import (
    AUDITOR,
    HOUR,
    OTHER,
    READ,
    items,
    only,
    settle,
    signed,
    two_answers,
    worked,
)


def test_a_calm_shop_has_nothing_to_settle(shop: Shop) -> None:
    signed(shop, shop.tablet())
    assert items(shop) == []
    assert inbox.count(shop.reader, shop.means) == 0


def test_a_wrong_pin_is_to_settle_until_a_later_signature_stands(shop: Shop) -> None:
    tablet = shop.tablet()
    events = [tablet.open(), *tablet.work(STEPS, "sign")]
    shop.sign(tablet, events, "9999")
    shop.push(tablet)
    item = only(shop, "refused")
    assert item.facts["reason"] == "Wrong PIN."
    assert (item.where.setup, item.where.plate, item.where.person) == (SETUP, "SAD-20-001", "B-01")
    assert inbox.count(shop.reader, shop.means) == 1
    shop.sign(tablet, events, PINS["B-01"])
    shop.push(tablet)
    assert items(shop, "refused") == []


def test_a_later_second_signature_does_not_make_a_refused_first_one_good(shop: Shop) -> None:
    tablet = shop.tablet()
    events = [tablet.open(), *tablet.work(STEPS, "sign")]
    shop.sign(tablet, events, "9999")
    tablet.person = "B-03"
    stands = shop.sign(tablet, events, PINS["B-03"], meaning="checked by")
    text = json.loads(tablet.texts[-1]) | {"kind": "countersigned"}
    tablet.texts[-1] = json.dumps(text)
    shop.push(tablet)
    with shop.reader as uow:
        verdict = uow.signatures.get(stands.id)
    assert verdict is not None and verdict.verdict == "confirmed"
    assert [one.kind for one in items(shop)] == ["refused"]


def test_a_provisional_signature_is_shown_after_a_day(shop: Shop) -> None:
    tablet = shop.tablet()
    events = [tablet.open(), *tablet.work(STEPS, "sign")]
    for _ in range(5):
        shop.sign(tablet, events, "9999")
    shop.sign(tablet, events, PINS["B-01"])
    shop.push(tablet)
    with shop.reader as uow:
        assert [one.verdict for one in uow.signatures.of_setup(SETUP)].count("provisional") == 1
    assert items(shop, "waiting") == []
    shop.clock.forward(25 * HOUR)
    waiting = only(shop, "waiting")
    assert "Too many wrong PINs" in waiting.facts["reason"]
    assert not waiting.facts["gap"]


def test_a_provisional_signature_with_a_gap_before_it_is_shown_at_once(shop: Shop) -> None:
    tablet = shop.tablet()
    events = [tablet.open(), *tablet.work(STEPS, "sign")]
    shop.sign(tablet, events, PINS["B-01"])
    shop.push(tablet, [*tablet.texts[:2], *tablet.texts[3:]])
    waiting = only(shop, "waiting")
    assert waiting.facts["gap"] and "1 of the records" in waiting.facts["reason"]
    shop.push(tablet, tablet.texts[2:3])
    assert items(shop) == []


def test_a_gap_is_named_with_its_numbers_and_goes_when_it_is_filled(shop: Shop) -> None:
    tablet = shop.tablet()
    worked(shop, tablet)
    shop.push(tablet, [*tablet.texts[:2], tablet.texts[4], *tablet.texts[6:]])
    assert items(shop, "gap") == []  # still on its way, perhaps
    arrived = shop.clock.now()
    shop.clock.forward(11 * 60)
    gap = only(shop, "gap")
    assert gap.facts["ranges"] == [(3, 4), (6, 6)] and gap.facts["missing"] == 3
    assert gap.where.tablet == "tab-1" and gap.since == arrived
    shop.push(tablet, tablet.texts)
    assert items(shop, "gap") == []


def test_a_gap_of_a_lost_tablet_is_dealt_with_and_a_new_one_is_not(
    shop: Shop, pen: OfficeKey
) -> None:
    tablet = shop.tablet()
    worked(shop, tablet)
    shop.push(tablet, [*tablet.texts[:2], tablet.texts[4]])
    shop.clock.forward(11 * 60)
    settle(shop, pen, only(shop, "gap"), "the tablet fell into the coolant")
    assert items(shop, "gap") == []
    shop.push(tablet, tablet.texts[6:])
    assert only(shop, "gap").facts["missing"] == 3


def test_what_was_set_aside_is_kept_whole_until_a_lead_has_dealt_with_it(
    shop: Shop, pen: OfficeKey
) -> None:
    tablet = shop.tablet()
    broken = '{"id": "no uuid", "kind": "note"}'
    shop.push(tablet, [broken])
    item = only(shop, "set-aside")
    assert item.where.tablet == "tab-1" and item.facts["reason"]
    looked = inbox.look(shop.reader, shop.means, AUDITOR, item.kind, item.key)
    assert looked.aside is not None and looked.aside.text == broken
    settle(shop, pen, item, "a test of the new tablet")
    assert items(shop) == []
    looked = inbox.look(shop.reader, shop.means, AUDITOR, item.kind, item.key)
    assert looked.aside is not None and looked.aside.text == broken


def test_records_after_a_signature_are_shown_until_it_is_signed_again(shop: Shop) -> None:
    tablet = shop.tablet()
    events = [tablet.open(), *tablet.work(STEPS, "sign")]
    shop.sign(tablet, events, PINS["B-01"])
    late = tablet.write("after-signature addition", None, adds="note", text="chip under pad 2")
    shop.push(tablet)
    item = only(shop, "late")
    assert item.facts["records"] == [late.id] and item.facts["signed_by"] == "B-01"
    shop.sign(tablet, [*events, late], PINS["B-01"])
    shop.push(tablet)
    assert items(shop) == []


def test_a_tablet_with_a_half_done_setup_is_missed_after_half_a_day(
    shop: Shop, pen: OfficeKey
) -> None:
    tablet = shop.tablet()
    tablet.open()
    shop.push(tablet)
    shop.clock.forward(11 * HOUR)
    assert items(shop) == []
    shop.clock.forward(2 * HOUR)
    item = only(shop, "silent")
    assert item.facts["at_work"] and item.where.setup == SETUP
    settle(shop, pen, item, "it is being repaired")
    assert items(shop) == []
    shop.push(tablet)
    assert items(shop) == []
    shop.clock.forward(13 * HOUR)
    assert only(shop, "silent").key != item.key


def test_a_tablet_that_owes_nothing_may_rest_and_one_with_a_gap_for_a_week(shop: Shop) -> None:
    rests, owes = shop.tablet("tab-1"), shop.tablet("tab-2", setup=OTHER)
    signed(shop, rests)
    worked(shop, owes)
    owes.write("abandoned", None, reason="wrong parts")
    shop.push(owes, [one for n, one in enumerate(owes.texts) if n != 2])
    shop.clock.forward(6 * 24 * HOUR)
    assert items(shop, "silent") == []
    shop.clock.forward(2 * 24 * HOUR)
    assert only(shop, "silent").where.tablet == "tab-2"


def test_a_revoked_tablet_is_not_missed(shop: Shop) -> None:
    tablet = shop.tablet()
    tablet.open()
    shop.push(tablet)
    tablets.revoke(shop.uow, shop.means, tablet.name, "stolen from the bench", LEAD)
    shop.clock.forward(20 * 24 * HOUR)
    assert items(shop) == []


def test_a_copied_tablet_comes_before_everything_and_goes_when_it_is_revoked(shop: Shop) -> None:
    true, copy = shop.tablet(), Tablet("tab-1", setup=OTHER)
    true.open()
    copy.open()
    shop.push(true)
    shop.push(copy)
    assert [one.kind for one in items(shop)] == ["forked", "set-aside"]
    tablets.revoke(shop.uow, shop.means, "tab-1", "a copy of it is about", LEAD)
    assert [one.kind for one in items(shop)] == ["set-aside"]


def test_a_tablet_that_saw_another_history_is_shown_with_both(shop: Shop, pen: OfficeKey) -> None:
    tablet = shop.tablet()
    tablet.open()
    shop.push(tablet)
    accept_events(shop.uow, shop.means, "tab-1", "test", [], [], seen=Seen(1, "f" * 64))
    item = only(shop, "other-chain")
    assert item.facts["saw"] == "f" * 64 and item.facts["here"] != item.facts["saw"]
    settle(shop, pen, item, "the backup of Monday was put back")
    assert items(shop) == []


def test_a_wrong_clock_is_an_item_of_the_tablet_and_setup(shop: Shop) -> None:
    tablet = shop.tablet()
    tablet.open()
    late = json.loads(tablet.texts[-1]) | {"at": "2028-11-24T08:00:00.000Z"}
    tablet.texts[-1] = json.dumps(late)
    shop.push(tablet)
    item = only(shop, "clock")
    assert (item.where.tablet, item.where.setup) == ("tab-1", SETUP)


def test_marks_are_one_item_for_a_setup_and_a_new_mark_opens_it_again(
    shop: Shop, pen: OfficeKey
) -> None:
    tablet = shop.tablet(person="B-99")
    tablet.open()
    shop.push(tablet)
    item = only(shop, "marked")
    assert item.facts["flags"] == ["unknown person"] and item.where.person == "B-99"
    settle(shop, pen, item, "B-99 was on trial")
    assert items(shop) == []
    tablet.reading(READ, "0.01", indicator="I-77")
    shop.push(tablet)
    assert "indicator unknown" in only(shop, "marked").facts["flags"]


def test_the_worst_comes_first_and_of_one_kind_the_oldest(shop: Shop) -> None:
    tablet = shop.tablet()
    shop.push(tablet, ['{"a": 1}'])
    shop.clock.forward(60)
    shop.push(tablet, ['{"b": 1}'])
    shop.clock.forward(60)
    two_answers(shop)
    found = items(shop)
    assert [one.kind for one in found] == ["two-answers", "set-aside", "set-aside"]
    assert found[1].since < found[2].since


def test_one_kind_can_be_asked_for_and_the_amounts_stay_those_of_all(shop: Shop) -> None:
    tablet = shop.tablet()
    shop.push(tablet, ['{"a": 1}', '{"b": 1}'])
    two_answers(shop)
    listed = inbox.list_items(shop.reader, shop.means, AUDITOR, "set-aside")
    assert [one.kind for one in listed.page.items] == ["set-aside", "set-aside"]
    assert listed.amounts == {"two-answers": 1, "set-aside": 2}


def test_the_number_in_the_menu_follows_the_log_and_the_clock(shop: Shop) -> None:
    tablet = shop.tablet()
    tablet.open()
    shop.push(tablet)
    assert inbox.count(shop.reader, shop.means) == 0
    shop.push(tablet, ['{"a": 1}'])
    assert inbox.count(shop.reader, shop.means) == 1
    shop.clock.forward(13 * HOUR)
    assert inbox.count(shop.reader, shop.means) == 2


def test_a_setup_is_folded_for_the_list_only_when_it_changed(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, _ = two_answers(shop)
    folded: list[str] = []
    load = folding.load

    def counted(uow: UnitOfWork, setup: str, steps_of: folding.StepsOf) -> folding.Folded:
        folded.append(setup)
        return load(uow, setup, steps_of)

    monkeypatch.setattr(folding, "load", counted)
    for _ in range(3):
        assert only(shop, "two-answers")
    assert folded in ([], [SETUP])
    first.write("note", None, text="waiting for the lead")
    shop.push(first)
    folded.clear()
    for _ in range(3):
        assert only(shop, "two-answers")
    assert folded == [SETUP]
