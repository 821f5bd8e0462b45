"""What waits for a lead: each kind of item, how it is settled, and what a decision leaves behind."""

from __future__ import annotations

import json
import threading

import pytest

from api.domain.errors import BadInput, Clash, NotAllowed, NotFound
from api.domain.inbox import Item
from api.domain.people import Person, Role
from api.security.office_key import OfficeKey, load_office_key
from api.use_cases import inbox, office_records, setups, tablets
from api.use_cases.ports import UnitOfWork
from api.use_cases.records import Seen, accept_events, folding
from tests.support.script import Tablet
from tests.support.shop import (
    LEAD,
    OPERATOR,
    OWNER,
    PINS,
    SETUP,
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


def test_a_lead_settles_a_refused_signature_with_a_reason(shop: Shop, pen: OfficeKey) -> None:
    signed(shop, shop.tablet(), "9999")
    item = only(shop, "refused")
    settle(shop, pen, item, "  B-01 left; signed on paper ")
    assert items(shop) == [] and inbox.count(shop.reader, shop.means) == 0
    [decision] = inbox.list_settled(shop.reader, AUDITOR).items
    assert (decision.kind, decision.key, decision.by) == ("refused", item.key, "B-03")
    assert decision.reason == "B-01 left; signed on paper"
    with shop.reader as uow:
        entry = uow.journal.last("dealt with", f"refused:{item.key}")
    assert entry is not None and entry.by == "B-03"
    assert json.loads(entry.body) == {"decision": "dealt with", "reason": decision.reason}


def test_a_decision_is_undone_only_by_another_one(shop: Shop, pen: OfficeKey) -> None:
    signed(shop, shop.tablet(), "9999")
    item = only(shop, "refused")
    settle(shop, pen, item, "not needed")
    inbox.open_again(shop.uow, shop.means, item.kind, item.key, "it is needed", OWNER)
    assert only(shop, "refused").key == item.key
    decisions = inbox.list_settled(shop.reader, AUDITOR).items
    assert [one.decision for one in decisions] == ["open again", "dealt with"]
    settle(shop, pen, item, "signed on paper")
    looked = inbox.look(shop.reader, shop.means, AUDITOR, item.kind, item.key)
    assert len(looked.decisions) == 3 and looked.settled is not None and not looked.open


def test_who_may_not_settle_may_read(shop: Shop, pen: OfficeKey) -> None:
    signed(shop, shop.tablet(), "9999")
    item = only(shop, "refused")
    for person in (OPERATOR, AUDITOR):
        with pytest.raises(NotAllowed):
            inbox.settle(shop.uow, shop.means, pen, item.kind, item.key, "because", person)
    assert inbox.look(shop.reader, shop.means, AUDITOR, item.kind, item.key).open


@pytest.mark.parametrize("reason", ["", " x ", "no", "x" * 501])
def test_a_decision_needs_a_reason(shop: Shop, pen: OfficeKey, reason: str) -> None:
    signed(shop, shop.tablet(), "9999")
    with pytest.raises(BadInput, match="3 to 500"):
        settle(shop, pen, only(shop, "refused"), reason)
    assert len(items(shop, "refused")) == 1


def test_of_two_leads_the_second_is_told_who_was_first(shop: Shop, pen: OfficeKey) -> None:
    signed(shop, shop.tablet(), "9999")
    item = only(shop, "refused")
    said: list[str] = []

    def decide(person: Person) -> None:
        try:
            inbox.settle(shop.uow, shop.means, pen, item.kind, item.key, "signed on paper", person)
            said.append("settled")
        except Clash as problem:
            said.append(problem.message)

    both = [threading.Thread(target=decide, args=[one]) for one in (LEAD, OWNER)]
    for thread in both:
        thread.start()
    for thread in both:
        thread.join()
    assert len(said) == 2 and "settled" in said
    assert any("has settled this at" in one and "signed on paper" in one for one in said)
    assert inbox.list_settled(shop.reader, AUDITOR).total == 1


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


def test_a_lead_chooses_between_two_answers_and_the_choice_is_a_record(
    shop: Shop, pen: OfficeKey
) -> None:
    two_answers(shop)
    item = only(shop, "two-answers")
    looked = inbox.look(shop.reader, shop.means, AUDITOR, item.kind, item.key)
    assert [one.person for one in looked.events] == ["B-01", "B-02"]
    settle(shop, pen, item, "the second had the plate in hand", keep=looked.events[1].id)
    assert items(shop) == []
    record = setups.get_setup(shop.reader, SETUP)
    assert record.state.steps[STEPS[0]["id"]].event == looked.events[1].id
    last = record.events[-1]
    assert (last.event.kind, last.event.person, last.event.tablet) == (
        "conflict resolved",
        "B-03",
        pen.tablet,
    )
    assert last.stored.sig is not None and last.stored.flags == ()
    [decision] = inbox.list_settled(shop.reader, AUDITOR).items
    assert (decision.decision, decision.keep) == ("chosen", looked.events[1].id)


@pytest.mark.parametrize("keep", [None, "01920000-0000-7000-8000-00000000ffff"])
def test_only_one_of_the_answers_can_be_chosen(
    shop: Shop, pen: OfficeKey, keep: str | None
) -> None:
    two_answers(shop)
    with pytest.raises(BadInput, match="Choose which"):
        settle(shop, pen, only(shop, "two-answers"), "because", keep)
    with shop.reader as uow:
        assert uow.journal.last("dealt with") is None and uow.tablets.get(pen.tablet) is None


def test_a_choice_at_the_bench_settles_the_item_too(shop: Shop, pen: OfficeKey) -> None:
    first, _ = two_answers(shop)
    item = only(shop, "two-answers")
    keep = item.facts["answers"][0]
    first.write("conflict resolved", None, step=STEPS[0]["id"], keep=keep, reason="mine was first")
    shop.push(first)
    assert items(shop) == []
    with pytest.raises(NotFound):
        settle(shop, pen, item, "too late", keep)


def test_two_answers_in_a_setup_that_is_over_are_decided_in_the_journal_alone(
    shop: Shop, pen: OfficeKey
) -> None:
    first, _ = two_answers(shop)
    first.write("abandoned", None, reason="wrong parts")
    shop.push(first)
    item = only(shop, "two-answers")
    with shop.reader as uow:
        before = uow.events.count()
    settle(shop, pen, item, "makes no difference", item.facts["answers"][0])
    with shop.reader as uow:
        assert uow.events.count() == before
    assert items(shop) == []


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


def test_accepting_a_late_record_does_not_accept_the_next_one(shop: Shop, pen: OfficeKey) -> None:
    tablet = shop.tablet()
    signed(shop, tablet)
    tablet.write("after-signature addition", None, adds="note", text="chip under pad 2")
    shop.push(tablet)
    settle(shop, pen, only(shop, "late"), "only a remark")
    assert items(shop) == []
    [decision] = inbox.settlements_of_setup(shop.reader, SETUP)
    assert decision.decision == "accepted"
    next_one = tablet.write("after-signature addition", None, adds="note", text="and one more")
    shop.push(tablet)
    assert next_one.id in only(shop, "late").facts["records"]


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


def test_nothing_of_that_name_is_not_found(shop: Shop) -> None:
    for kind, key in (("refused", "x"), ("set-aside", "y"), ("weather", "z")):
        with pytest.raises(NotFound):
            inbox.look(shop.reader, shop.means, AUDITOR, kind, key)


def test_a_note_of_the_desk_is_a_record_of_the_offices_own_chain(
    shop: Shop, pen: OfficeKey
) -> None:
    tablet = shop.tablet()
    tablet.open()
    shop.push(tablet)
    for text in ("pads changed", "and the wrench"):
        office_records.add_note(shop.uow, shop.means, pen, SETUP, text, LEAD)
    events = setups.get_setup(shop.reader, SETUP).events
    first, second = events[-2:]
    assert [one.event.data["text"] for one in (first, second)] == ["pads changed", "and the wrench"]
    assert (first.event.n, second.event.n) == (1, 2)
    assert second.event.prev == first.stored.hash
    assert all(one.stored.flags == () for one in (first, second))
    assert shop.means.tablet_keys.signed(
        pen.public, f"clampbook-event/1 {second.stored.hash}", second.stored.sig or ""
    )
    with shop.reader as uow:
        office = uow.tablets.get(pen.tablet)
        enrolled = uow.journal.last("tablet enrolled", pen.tablet)
    assert office is not None and (office.name, office.contiguous) == ("Office", 2)
    assert enrolled is not None and enrolled.by == "B-03"


def test_the_office_is_no_silent_tablet(shop: Shop, pen: OfficeKey) -> None:
    tablet = shop.tablet()
    tablet.open()
    shop.push(tablet)
    office_records.add_note(shop.uow, shop.means, pen, SETUP, "pads changed", LEAD)
    shop.clock.forward(30 * 24 * HOUR)
    assert all(one.where.tablet != pen.tablet for one in items(shop))


def test_a_reading_corrected_at_the_desk_counts_and_the_first_value_stays(
    shop: Shop, pen: OfficeKey
) -> None:
    tablet = shop.tablet()
    tablet.open()
    list(tablet.work(STEPS, READ))
    read = tablet.reading(READ, "0.031")
    shop.push(tablet)
    office_records.correct_reading(
        shop.uow, shop.means, pen, SETUP, read.id, "0,013", "mm", "digits swapped", LEAD
    )
    reading = setups.get_setup(shop.reader, SETUP).state.readings[READ]
    assert reading.final is not None and reading.final.value == "0.013"
    assert [one.value for one in reading.entries] == ["0.031", "0.013"]


def test_a_correction_after_the_signature_asks_for_a_new_one(shop: Shop, pen: OfficeKey) -> None:
    tablet = shop.tablet()
    signed(shop, tablet)
    reading = setups.get_setup(shop.reader, SETUP).state.readings[READ]
    assert reading.final is not None
    office_records.correct_reading(
        shop.uow, shop.means, pen, SETUP, reading.final.event, "0.02", "mm", "digits swapped", LEAD
    )
    last = setups.get_setup(shop.reader, SETUP).events[-1].event
    assert (last.kind, last.data["adds"]) == ("after-signature addition", "correction")
    assert only(shop, "late").where.person == "B-03"


@pytest.mark.parametrize(
    ("value", "unit", "field"),
    [("much", "mm", "value"), ("0.01", "furlong", "unit"), ("0.03", "mm", "value")],
)
def test_a_correction_that_says_nothing_new_is_refused_by_its_field(
    shop: Shop, pen: OfficeKey, value: str, unit: str, field: str
) -> None:
    tablet = shop.tablet()
    signed(shop, tablet)
    reading = setups.get_setup(shop.reader, SETUP).state.readings[READ]
    assert reading.final is not None
    with pytest.raises(BadInput) as refused:
        office_records.correct_reading(
            shop.uow, shop.means, pen, SETUP, reading.final.event, value, unit, "because", LEAD
        )
    assert refused.value.where["field"] == field
    with shop.reader as uow:
        assert uow.tablets.get(pen.tablet) is None


def test_a_step_ticked_by_mistake_is_opened_again(shop: Shop, pen: OfficeKey) -> None:
    tablet = shop.tablet()
    tablet.open()
    done = tablet.do(STEPS[0])
    shop.push(tablet)
    office_records.open_step(shop.uow, shop.means, pen, SETUP, done.id, "not cleaned", LEAD)
    assert setups.get_setup(shop.reader, SETUP).state.steps[STEPS[0]["id"]].undone
    with pytest.raises(BadInput, match="Choose a step"):
        office_records.open_step(shop.uow, shop.means, pen, SETUP, done.id, "again", LEAD)


def test_a_setup_is_abandoned_once_and_only_by_a_lead(shop: Shop, pen: OfficeKey) -> None:
    tablet = shop.tablet()
    tablet.open()
    shop.push(tablet)
    with pytest.raises(NotAllowed):
        office_records.abandon(shop.uow, shop.means, pen, SETUP, "nobody goes on", OPERATOR)
    office_records.abandon(shop.uow, shop.means, pen, SETUP, "nobody goes on", LEAD)
    summary = setups.get_setup(shop.reader, SETUP).summary
    assert summary is not None and summary.phase == "abandoned"
    with pytest.raises(Clash, match="abandoned already"):
        office_records.abandon(shop.uow, shop.means, pen, SETUP, "nobody goes on", LEAD)


def test_a_revoked_office_key_writes_nothing(shop: Shop, pen: OfficeKey) -> None:
    tablet = shop.tablet()
    tablet.open()
    shop.push(tablet)
    office_records.add_note(shop.uow, shop.means, pen, SETUP, "pads changed", LEAD)
    tablets.revoke(shop.uow, shop.means, pen.tablet, "keys were copied", LEAD)
    with pytest.raises(Clash, match=r"office\.pem"):
        office_records.add_note(shop.uow, shop.means, pen, SETUP, "one more", LEAD)


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
