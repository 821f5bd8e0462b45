"""Deciding what waits: by whom, with what reason, and what a decision leaves behind."""

from __future__ import annotations

import json
import threading

import pytest

from api.domain.errors import BadInput, Clash, NotAllowed, NotFound
from api.domain.people import Person
from api.security.office_key import OfficeKey
from api.use_cases import inbox, setups
from tests.support.shop import (
    LEAD,
    OPERATOR,
    OWNER,
    SETUP,
    STEPS,
    Shop,
)
from tests.use_cases.inbox_cases import (
    AUDITOR,
    items,
    only,
    settle,
    signed,
    two_answers,
)


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


def test_nothing_of_that_name_is_not_found(shop: Shop) -> None:
    for kind, key in (("refused", "x"), ("set-aside", "y"), ("weather", "z")):
        with pytest.raises(NotFound):
            inbox.look(shop.reader, shop.means, AUDITOR, kind, key)
