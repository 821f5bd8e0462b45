"""To settle: the list, each item's page, decisions with their reasons, additions from the desk."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from typing import Any

import pytest

from api.domain.records import JournalEntry
from api.use_cases import designs
from tests.routes.office.story import tell
from tests.routes.office.visitor import Site, Visitor, count_rows
from tests.support.script import Tablet
from tests.support.shop import push

SETUP = "01920000-0000-7000-8000-000000000eee"
BROKEN = '{"id": "<b>not a uuid</b>", "kind": "note", "data": {"text": "hello", "at": [1, 2]}}'
REASON = "settled at the morning talk"


@dataclass
class Conflict:
    step: str
    answers: list[str]


def two_answers(site: Site) -> Conflict:
    """The first step of a setup answered on two tablets."""
    revision = designs.get_revision(site.uow, "SAD-20", "B")
    steps: list[dict[str, Any]] = (revision.sheet or {})["steps"]
    first = Tablet("tab-7", setup=SETUP)
    second = Tablet("tab-8", setup=SETUP, person="B-02")
    first.open(plate="SAD-20-003", revision_hash=revision.hash)
    answers = [one.do(steps[0]).id for one in (first, second)]
    push(site, first)
    push(site, second)
    return Conflict(steps[0]["id"], answers)


def item_of(visitor: Visitor, kind: str) -> str:
    """The address of the first item of this kind."""
    page = visitor.read(f"/to-settle?kind={kind}")
    return next(link for link in page.links if link.startswith(f"/to-settle/{kind}/"))


def last_decision(site: Site) -> JournalEntry | None:
    with site.uow as uow:
        return uow.journal.last("dealt with")


def amount(visitor: Visitor, path: str = "/plates") -> int:
    """The number beside the menu's entry."""
    found = re.search(
        r'To settle(?: <span class="amount">(\d+)</span>)?</a>', visitor.get(path).text
    )
    assert found is not None
    return int(found[1] or 0)


def test_an_item_is_listed_with_what_happened_where_and_what_to_do(
    each_site: Site,
) -> None:
    two_answers(each_site)
    with each_site.visitor("B-03") as lead:
        page = lead.read("/to-settle")
    assert "B-01 and B-02 answered one step on two tablets" in page.text
    assert "Look at both and choose the one that stands." in page.text
    assert "setup of plate SAD-20-003" in page.text and "tablet tab-8" in page.text
    assert any(link.startswith(f"/setups/{SETUP}#e-") for link in page.links)


def test_the_menu_counts_what_is_open_on_every_page(site: Site, lead: Visitor) -> None:
    before = amount(lead)
    push(site, Tablet("tab-9", setup=SETUP), [BROKEN])
    assert amount(lead) == amount(lead, "/stores/tool") == before + 1
    lead.send(item_of(lead, "set-aside"), deed="settle", reason=REASON)
    assert amount(lead) == before


def test_a_calm_shop_says_so_in_one_line(site: Site, lead: Visitor) -> None:
    for link in [one for one in lead.read("/to-settle").links if one.startswith("/to-settle/")]:
        lead.send(link, deed="settle", reason=REASON)
    page = lead.read("/to-settle")
    assert "Nothing waits to be settled." in page.text
    assert page.html.count("<li data-item>") == 0


def test_the_list_can_be_narrowed_to_one_kind(site: Site, lead: Visitor) -> None:
    two_answers(site)
    push(site, Tablet("tab-9", setup=SETUP), [BROKEN])
    page = lead.read("/to-settle?kind=set-aside")
    assert "could not be taken as a record" in page.text and "two tablets" not in page.text
    assert "/to-settle?kind=two-answers" in page.links
    assert lead.get("/to-settle?kind=weather").status_code == 404
    assert lead.get("/to-settle?page=99").status_code == 422


def test_what_was_set_aside_is_readable_and_whole_and_never_markup(
    site: Site, lead: Visitor
) -> None:
    push(site, Tablet("tab-9", setup=SETUP), [BROKEN])
    page = lead.read(item_of(lead, "set-aside"))
    assert BROKEN in page.text
    assert "<b>not" not in page.html
    assert ["data.text", "hello"] in page.rows and ["data.at", "1, 2"] in page.rows
    assert "'id' is not written as it should be." in page.text
    assert "String should match pattern" in page.text  # the reason as it was kept


@pytest.mark.parametrize("text", ["half a rec", "[1, 2]", "\udc00", "[" * 3000])
def test_a_text_that_is_no_object_is_shown_as_it_came(site: Site, lead: Visitor, text: str) -> None:
    push(site, Tablet("tab-9", setup=SETUP), [text])
    page = lead.read(item_of(lead, "set-aside"))
    assert "there are no fields to show" in page.text
    assert (json.dumps(text) if text == "\udc00" else text) in page.text


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        ('{"a": "\\ud800"}', ["a", "\\ud800"]),
        ('{"a": "\\u0000b"}', ["a", "\\x00b"]),
        ('{"a": []}', ["a", "empty"]),
        ('{"a": {"b": true, "c": null}}', ["a.b", "yes"]),
    ],
)
def test_fields_show_even_what_no_page_can_hold(
    site: Site, lead: Visitor, text: str, cell: list[str]
) -> None:
    push(site, Tablet("tab-9", setup=SETUP), [text])
    assert cell in lead.read(item_of(lead, "set-aside")).rows


@pytest.mark.parametrize("text", ['{"a":' * 900 + "1" + "}" * 900, json.dumps({"a": [0] * 9000})])
def test_a_text_too_deep_or_too_long_for_fields_is_shown_as_it_came(
    site: Site, lead: Visitor, text: str
) -> None:
    push(site, Tablet("tab-9", setup=SETUP), [text])
    page = lead.read(item_of(lead, "set-aside"))
    assert text in page.text and len(page.rows) < 300


def test_a_lead_lets_one_answer_stand_and_both_stay_readable(site: Site, lead: Visitor) -> None:
    conflict = two_answers(site)
    path = item_of(lead, "two-answers")
    shown = lead.read(path)
    assert "answer 1, of B-01" in shown.text and "answer 2, of B-02" in shown.text
    answer = lead.send(path, deed="settle", keep=conflict.answers[1], reason=REASON)
    assert (answer.status_code, answer.headers["location"]) == (303, "/to-settle")
    assert "It is settled" in lead.read("/to-settle").text
    record = lead.read(f"/setups/{SETUP}")
    assert "Two answers settled" in record.text and REASON in record.text
    assert "Two answers, one answer chosen by B-03" in record.text
    again = lead.read(path)
    assert "Settled by B-03" in again.text and "this one stands" in again.text
    with site.uow as uow:
        last = uow.events.of_setup(SETUP)[-1]
    assert (last.kind, last.person, last.tablet[:7]) == ("conflict resolved", "B-03", "office-")


def test_a_choice_without_an_answer_or_a_reason_changes_nothing(site: Site, lead: Visitor) -> None:
    conflict = two_answers(site)
    path = item_of(lead, "two-answers")
    without_choice = lead.send(path, deed="settle", reason=REASON)
    assert without_choice.status_code == 422
    assert "Choose which of the answers stands." in without_choice.text
    assert REASON in without_choice.text  # what was typed is still there
    without_reason = lead.send(path, deed="settle", keep=conflict.answers[0], reason="x")
    assert without_reason.status_code == 422 and "3 to 500 characters" in without_reason.text
    assert last_decision(site) is None


def test_a_decision_is_in_the_journal_and_in_the_list_of_decisions(
    site: Site, lead: Visitor
) -> None:
    push(site, Tablet("tab-9", setup=SETUP), [BROKEN])
    path = item_of(lead, "set-aside")
    lead.send(path, deed="settle", reason=REASON)
    entry = last_decision(site)
    assert entry is not None and entry.by == "B-03"
    assert entry.subject == f"set-aside:{path.rpartition('/')[2]}"
    assert json.loads(entry.body) == {"decision": "dealt with", "reason": REASON}
    rows = lead.read("/settled").rows
    assert ["Set aside", "dealt with", REASON, "B-03", str(entry.seq)] == rows[1][1:]


def test_the_second_of_two_leads_learns_who_was_first(site: Site, lead: Visitor) -> None:
    push(site, Tablet("tab-9", setup=SETUP), [BROKEN])
    path = item_of(lead, "set-aside")
    with site.visitor("B-05") as owner:
        token = owner.token(path)
        lead.send(path, deed="settle", reason=REASON)
        late = owner.client.post(path, data={"csrf": token, "deed": "settle", "reason": "me too"})
    assert late.status_code == 409
    assert "B-03 has settled this at" in late.text and REASON in late.text


def test_a_decision_is_taken_back_by_another_and_both_are_read(site: Site, lead: Visitor) -> None:
    push(site, Tablet("tab-9", setup=SETUP), [BROKEN])
    path = item_of(lead, "set-aside")
    lead.send(path, deed="settle", reason=REASON)
    assert "Open it again" in lead.read(path).text
    lead.send(path, deed="open again", reason="it came once more")
    page = lead.read(path)
    assert REASON in page.text and "it came once more" in page.text
    assert item_of(lead, "set-aside") == path
    assert count_rows(site, "journal WHERE kind = 'dealt with'") == 2


@pytest.mark.parametrize("badge", ["B-01", "B-04"])
def test_who_may_not_settle_reads_everything_and_is_refused(site: Site, badge: str) -> None:
    push(site, Tablet("tab-9", setup=SETUP), [BROKEN])
    with site.visitor(badge) as visitor:
        path = item_of(visitor, "set-aside")
        page = visitor.read(path)
        assert BROKEN in page.text and "A lead or an owner settles it." in page.text
        assert "Settle it" not in page.text
        refused = visitor.send(path, deed="settle", reason=REASON)
        assert refused.status_code == 403
        assert visitor.get(f"/setups/{SETUP}/add").status_code == 403
        assert "Nothing has been decided yet." in visitor.read("/settled").text


def test_nothing_is_settled_without_the_forms_own_token(site: Site, lead: Visitor) -> None:
    push(site, Tablet("tab-9", setup=SETUP), [BROKEN])
    path = item_of(lead, "set-aside")
    answer = lead.client.post(path, data={"deed": "settle", "reason": REASON, "csrf": "0" * 64})
    assert answer.status_code == 403 and last_decision(site) is None


def test_what_never_was_is_not_found(lead: Visitor) -> None:
    for path in ("/to-settle/weather/x", "/to-settle/refused/x", "/to-settle/gap/a/b/c"):
        assert lead.get(path).status_code == 404


def test_a_refused_signature_and_a_late_record_lead_to_the_setup(site: Site, lead: Visitor) -> None:
    told = tell(site)
    page = lead.read(item_of(lead, "refused"))
    assert "was refused:" in page.text and "Signatures of this setup" in page.text
    signed = told.events[-2]
    with site.uow as uow:
        [seq] = [one.seq for one in uow.events.of_setup(told.id) if one.id == signed.id]
    assert f"/setups/{told.id}#e-{seq}" in page.links


def test_a_record_after_a_signature_is_accepted_on_the_setups_page(
    site: Site, lead: Visitor
) -> None:
    with site.uow as uow:
        signed = next(one for one in reversed(uow.setups.all()) if one.signature == "confirmed")
    page = f"/setups/{signed.id}/add"
    lead.send(page, page, deed="note", note="chip under pad 2")
    record = lead.read(f"/setups/{signed.id}")
    assert "chip under pad 2" in record.text and "a new signature is asked for" in record.text
    path = next(
        link
        for link in lead.read("/to-settle?kind=late").links
        if link.startswith(f"/to-settle/late/{signed.id}")
    )
    assert "chip under pad 2" in lead.read(path).text
    lead.send(path, deed="settle", reason=REASON)
    record = lead.read(f"/setups/{signed.id}")
    assert "accepted without a new signature by B-03" in record.text and REASON in record.text
    assert "came after the signature" in record.text  # never hidden
