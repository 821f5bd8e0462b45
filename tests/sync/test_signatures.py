"""Signatures: what they cover, whose PIN it is, and what changes the verdict."""

from __future__ import annotations

from typing import Any

from api.domain.events import Event
from api.domain.records import StoredSignature
from api.use_cases import records
from api.use_cases.records import Accepted
from api.use_cases.setups import get_setup
from tests.support.script import Tablet
from tests.support.shop import SETUP, STEPS, Shop

RIGHT, WRONG = "4101", "9999"


def push(shop: Shop, tablet: Tablet, texts: list[Any]) -> Accepted:
    return shop.push(tablet, texts)


def worked(shop: Shop) -> tuple[Tablet, list[Event]]:
    """A setup with everything done but the signature, on the server."""
    tablet = shop.tablet()
    events = [tablet.open(), *tablet.work(STEPS, "sign")]
    push(shop, tablet, tablet.texts)
    return tablet, events


def signature(shop: Shop, event: Event) -> StoredSignature:
    with shop.reader as uow:
        found = uow.signatures.get(event.id)
    assert found is not None
    return found


def sign(
    shop: Shop, tablet: Tablet, covered: list[Event], pin: str, **more: Any
) -> StoredSignature:
    event = shop.sign(tablet, covered, pin, **more)
    push(shop, tablet, tablet.texts[-1:])
    return signature(shop, event)


def tries(shop: Shop, badge: str = "B-01") -> int:
    with shop.reader as uow:
        credential = uow.people.credential(badge, "pin")
    assert credential is not None
    return credential.tries


def phase(shop: Shop) -> str:
    summary = get_setup(shop.reader, SETUP).summary
    assert summary is not None
    return summary.phase


def test_the_right_pin_over_the_records_confirms_the_signature(shop: Shop) -> None:
    tablet, events = worked(shop)
    assert phase(shop) == "working"
    assert sign(shop, tablet, events, RIGHT).verdict == "confirmed"
    assert phase(shop) == "signed"


def test_a_wrong_pin_is_refused_and_the_record_stays(shop: Shop) -> None:
    tablet, events = worked(shop)
    refused = sign(shop, tablet, events, WRONG)
    assert (refused.verdict, refused.reason) == ("refused", "Wrong PIN.")
    assert get_setup(shop.reader, SETUP).events[-1].stored.kind == "signed"
    assert phase(shop) == "working"
    assert tries(shop) == 1


def test_a_wrong_pin_then_the_right_one_ends_signed_and_forgets_the_tries(shop: Shop) -> None:
    tablet, events = worked(shop)
    sign(shop, tablet, events, WRONG)
    assert sign(shop, tablet, events, RIGHT).verdict == "confirmed"
    assert phase(shop) == "signed"
    assert tries(shop) == 0


def test_the_same_sign_off_sent_fifty_times_counts_once(shop: Shop) -> None:
    tablet, events = worked(shop)
    event = shop.sign(tablet, events, WRONG)
    taken = push(shop, tablet, [tablet.texts[-1]] * 50)
    assert [one.outcome for one in taken.results] == ["stored"] + ["already"] * 49
    assert tries(shop) == 1
    assert signature(shop, event).verdict == "refused"


def test_five_wrong_pins_lock_and_a_right_one_waits_for_the_lock_to_end(shop: Shop) -> None:
    tablet, events = worked(shop)
    for _ in range(5):
        sign(shop, tablet, events, WRONG)
    waiting = sign(shop, tablet, events, RIGHT)
    assert waiting.verdict == "provisional"
    assert records.judge_due_signatures(shop.uow, shop.means) == 0
    shop.clock.forward(31)
    assert records.judge_due_signatures(shop.uow, shop.means) == 1
    assert signature_by_id(shop, waiting.event).verdict == "confirmed"
    assert phase(shop) == "signed"


def signature_by_id(shop: Shop, event: str) -> StoredSignature:
    with shop.reader as uow:
        found = uow.signatures.get(event)
    assert found is not None
    return found


def test_the_lock_grows_with_every_wrong_pin(shop: Shop) -> None:
    tablet, events = worked(shop)
    waits = []
    for _ in range(7):
        with shop.reader as uow:
            credential = uow.people.credential("B-01", "pin")
        if credential and credential.locked_until:
            shop.clock.forward(max(0, (credential.locked_until - shop.clock.now()).total_seconds()))
        sign(shop, tablet, events, WRONG)
        with shop.reader as uow:
            credential = uow.people.credential("B-01", "pin")
        assert credential
        waits.append(
            (credential.locked_until - shop.clock.now()).total_seconds()
            if credential.locked_until
            else 0
        )
    assert waits == [0, 0, 0, 0, 30, 60, 120]


def test_a_signature_waits_for_covered_records_and_is_confirmed_when_they_arrive(
    shop: Shop,
) -> None:
    tablet = shop.tablet()
    events = [tablet.open(), *tablet.work(STEPS, "sign")]
    event = shop.sign(tablet, events, RIGHT)
    push(shop, tablet, [*tablet.texts[:-3], tablet.texts[-1]])
    before = signature(shop, event)
    assert before.verdict == "provisional"
    assert "2 of the records" in (before.reason or "")
    push(shop, tablet, [tablet.texts[-2]])
    assert signature(shop, event).verdict == "provisional"
    push(shop, tablet, [tablet.texts[-3]])
    after = signature(shop, event)
    assert after.verdict == "confirmed"
    assert after.seq > before.seq
    assert phase(shop) == "signed"


def test_a_verdict_that_changed_is_pulled_even_without_new_events(shop: Shop) -> None:
    tablet, events = worked(shop)
    for _ in range(5):
        sign(shop, tablet, events, WRONG)
    waiting = sign(shop, tablet, events, RIGHT)
    head = records.pull(shop.reader, shop.means, 0).head
    shop.clock.forward(31)
    records.judge_due_signatures(shop.uow, shop.means)
    pulled = records.pull(shop.reader, shop.means, head)
    assert pulled.events == []
    assert [(one.event, one.verdict) for one in pulled.signatures] == [(waiting.event, "confirmed")]


def test_a_pin_sealed_for_other_records_does_not_sign_these(shop: Shop) -> None:
    tablet, events = worked(shop)
    genuine = shop.sign(tablet, events, RIGHT)
    moved = tablet.sign(events[:-1], sealed=genuine.data["sealed"], key=shop.keys.key_id)
    push(shop, tablet, tablet.texts[-1:])
    refused = signature(shop, moved)
    assert refused.verdict == "refused"
    assert "does not belong" in (refused.reason or "")


def test_a_signature_over_altered_records_is_refused(shop: Shop) -> None:
    tablet, events = worked(shop)
    covers = {"events": [one.id for one in events], "hash": "ab" * 32}
    refused = sign(shop, tablet, events, RIGHT, covers=covers)
    assert refused.verdict == "refused"
    assert "differ" in (refused.reason or "")


def test_a_signature_over_another_setup_is_refused(shop: Shop) -> None:
    tablet, events = worked(shop)
    tablet.setup = "01920000-0000-7000-8000-000000000def"
    tablet.open()
    push(shop, tablet, tablet.texts[-1:])
    refused = sign(shop, tablet, events, RIGHT)
    assert (refused.verdict, refused.reason) == ("refused", "It covers records of another setup.")


def test_a_pin_sealed_to_another_server_is_refused_with_what_to_do(shop: Shop) -> None:
    tablet, events = worked(shop)
    refused = sign(shop, tablet, events, RIGHT, key="0123456789abcdef")
    assert refused.verdict == "refused"
    assert "sign again" in (refused.reason or "")


def test_a_revoked_person_does_not_sign(shop: Shop) -> None:
    tablet, events = worked(shop)
    with shop.uow as uow:
        person = uow.people.get("B-01")
        assert person
        uow.people.save(person.model_copy(update={"active": False}))
        uow.commit()
    refused = sign(shop, tablet, events, RIGHT)
    assert (refused.verdict, refused.reason) == ("refused", "B-01 is no longer active.")


def test_an_event_after_a_signature_is_flagged_and_asks_for_a_new_one(shop: Shop) -> None:
    tablet, events = worked(shop)
    sign(shop, tablet, events, RIGHT)
    tablet.reading("read/A/torqued locked", "0.01")
    taken = push(shop, tablet, tablet.texts[-1:])
    assert "after signature" in taken.results[0].flags
    record = get_setup(shop.reader, SETUP)
    assert record.state.after_signature == [record.events[-1].event.id]
    assert record.summary is not None
    assert record.summary.step == "sign"


def test_a_new_pin_set_while_the_tablet_was_away_decides(shop: Shop) -> None:
    tablet, events = worked(shop)
    event = shop.sign(tablet, events, RIGHT)
    with shop.uow as uow:
        from api.use_cases import credentials

        credentials.set_secret(uow, shop.means, "B-01", "pin", "7777")
        uow.commit()
    push(shop, tablet, tablet.texts[-1:])
    assert signature(shop, event).verdict == "refused"
    assert sign(shop, tablet, events, "7777").verdict == "confirmed"
