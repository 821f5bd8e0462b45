"""People and keys that changed while a tablet was away, and tablets in the wrong hands."""

from __future__ import annotations

import json
from base64 import b64decode, b64encode
from typing import Any

import pytest

from api.domain.events import Event, hash_of, signed_text
from api.domain.people import Person, Role
from api.domain.records import StoredSignature
from api.security.tablet_keys import TabletKey
from api.use_cases import crew, records, tablets
from api.use_cases.keys import rotate_sealing_key
from api.use_cases.setups import get_setup
from tests.support.invariants import Held, all_sent, assert_invariants
from tests.support.script import Tablet
from tests.support.shop import LEAD, OWNER, SETUP, STEPS, Shop


def away(shop: Shop) -> tuple[Tablet, list[Event]]:
    """A tablet that worked and signed while nobody heard of it."""
    tablet = shop.tablet()
    return tablet, [tablet.open(), *tablet.work(STEPS, "sign")]


def verdict(shop: Shop, event: Event) -> StoredSignature:
    with shop.reader as uow:
        found = uow.signatures.get(event.id)
    assert found is not None
    return found


def assert_all_there(shop: Shop, *tablets_here: Tablet, **more: Any) -> None:
    assert_invariants(
        shop.database, [all_sent(one.name, one.texts) for one in tablets_here], **more
    )


@pytest.mark.parametrize(
    ("person", "flag", "reason"),
    [
        (Person(badge="B-01", role=Role.OPERATOR, active=False), "person inactive", "no longer"),
        (Person(badge="B-01", role=Role.AUDITOR), "role lacking", "may not sign"),
    ],
    ids=["left the crew", "became an auditor"],
)
def test_work_of_who_left_or_changed_role_meanwhile_is_kept_and_the_signature_refused(
    shop: Shop, person: Person, flag: str, reason: str
) -> None:
    tablet, events = away(shop)
    signed = shop.sign(tablet, events, "4101")
    crew.save_person(shop.uow, shop.means, person, OWNER)
    taken = shop.push(tablet)
    assert {one.outcome for one in taken.results} == {"stored"}
    assert flag in taken.results[-1].flags
    judged = verdict(shop, signed)
    assert judged.verdict == "refused"
    assert reason in (judged.reason or "")
    assert_all_there(shop, tablet)


def test_a_pin_changed_meanwhile_decides_and_the_record_stays(shop: Shop) -> None:
    tablet, events = away(shop)
    old = shop.sign(tablet, events, "4101")
    crew.set_pin(shop.uow, shop.means, "B-01", "7719", OWNER)
    new = shop.sign(tablet, events, "7719")
    shop.push(tablet)
    assert verdict(shop, old).reason == "Wrong PIN."
    assert verdict(shop, new).verdict == "confirmed"
    assert_all_there(shop, tablet)


def test_a_wrong_pin_offline_then_the_right_one_sent_in_any_order_ends_signed(shop: Shop) -> None:
    tablet, events = away(shop)
    wrong, right = shop.sign(tablet, events, "9999"), shop.sign(tablet, events, "4101")
    shop.push(tablet, tablet.texts[-1:])
    shop.push(tablet, tablet.texts[:-1])
    assert verdict(shop, wrong).verdict == "refused"
    assert verdict(shop, right).verdict == "confirmed"
    assert_all_there(shop, tablet)


def test_the_same_wrong_sign_off_sent_fifty_times_is_one_try(shop: Shop) -> None:
    tablet, events = away(shop)
    shop.sign(tablet, events, "9999")
    shop.push(tablet)
    for _ in range(5):
        shop.push(tablet, [tablet.texts[-1]] * 10)
    with shop.reader as uow:
        credential = uow.people.credential("B-01", "pin")
    assert credential is not None
    assert credential.tries == 1
    assert_all_there(shop, tablet)


def test_a_sealed_pin_moved_to_another_record_does_not_open(shop: Shop) -> None:
    """Moved to other records, to another meaning, to another person, or to another tablet."""
    tablet, events = away(shop)
    genuine = shop.sign(tablet, events, "4101")
    sealed, key = genuine.data["sealed"], shop.keys.key_id
    thief = Tablet("tab-2", setup=SETUP)
    thief.open()
    moved = [
        tablet.sign(events[:-1], sealed=sealed, key=key),
        tablet.sign(events, sealed=sealed, key=key, meaning="checked by"),
    ]
    tablet.person = "B-02"
    moved.append(tablet.sign(events, sealed=sealed, key=key))
    shop.push(tablet)
    shop.push(thief)
    assert verdict(shop, genuine).verdict == "confirmed"
    assert {verdict(shop, one).verdict for one in moved} == {"refused"}
    assert_all_there(shop, tablet, thief)


def test_a_sealed_pin_is_good_for_one_signature(shop: Shop) -> None:
    tablet, events = away(shop)
    genuine = shop.sign(tablet, events, "4101")
    again = tablet.sign(events, sealed=genuine.data["sealed"], key=shop.keys.key_id)
    shop.push(tablet)
    assert verdict(shop, genuine).verdict == "confirmed"
    refused = verdict(shop, again)
    assert (refused.verdict, refused.reason) == (
        "refused",
        "This sealed PIN was used before; sign again.",
    )
    assert_all_there(shop, tablet)


def other_key(text: str) -> str:
    return TabletKey().sign(signed_text(hash_of(text)))


def of_another_record(text: str) -> str:
    return Tablet("tab-1", setup=SETUP).key.sign(signed_text(hash_of(text + " ")))


def broken(text: str) -> str:
    plain = b64decode(Tablet("tab-1", setup=SETUP).key.sign(signed_text(hash_of(text))))
    return b64encode(plain[:-1] + bytes([plain[-1] ^ 1])).decode()


@pytest.mark.parametrize("forge", [other_key, of_another_record, broken, lambda _: None])
def test_a_forged_signature_takes_no_number_and_is_kept_aside(shop: Shop, forge: Any) -> None:
    tablet, _ = away(shop)
    forger = Tablet("tab-1", setup=SETUP, person="B-02")
    forger.open()
    list(forger.work(STEPS, "sign"))
    taken = records.accept_events(
        shop.uow, shop.means, "tab-1", "x", forger.texts, [forge(text) for text in forger.texts]
    )
    assert {one.outcome for one in taken.results} == {"set aside"}
    assert taken.contiguous == 0
    assert {one.outcome for one in shop.push(tablet).results} == {"stored"}
    assert_all_there(shop, tablet)
    with shop.reader as uow:
        assert uow.events.set_asides(1, 50).total == len(forger.texts)
        assert uow.journal.of_kind("tablet forked") == []


def test_a_stolen_tablet_that_is_revoked_signs_nothing_any_more(shop: Shop) -> None:
    tablet, events = away(shop)
    shop.push(tablet)
    before = assert_invariants(shop.database, [all_sent(tablet.name, tablet.texts)])
    tablets.revoke(shop.uow, shop.means, tablet.name, "left in a taxi", LEAD)
    signed = shop.sign(tablet, events, "4101")
    taken = shop.push(tablet)
    assert taken.tablet == "revoked"
    assert taken.results[-1].outcome == "stored"
    assert "tablet revoked" in taken.results[-1].flags
    assert verdict(shop, signed).verdict == "refused"
    summary = get_setup(shop.reader, SETUP).summary
    assert summary is not None
    assert summary.phase == "working"
    assert_all_there(shop, tablet, before=before)


def test_a_wiped_tablet_comes_as_a_new_one_and_the_old_ones_records_stay(shop: Shop) -> None:
    """What it had not sent is gone with its disk, and shows as nothing more than an end."""
    old, _ = away(shop)
    shop.push(old, old.texts[:6])
    before = assert_invariants(shop.database)
    new = shop.tablet("tab-9", person="B-02")
    new.write("taken over", None, **json.loads('{"from": "tab-1"}'))
    shop.push(new)
    ticked = dict(enumerate(old.texts[:6], start=1))
    held = [Held(old.name, ticked, shown=ticked), all_sent(new.name, new.texts)]
    assert_invariants(shop.database, held, before=before)


def test_a_pin_sealed_before_the_shops_key_was_changed_still_opens(shop: Shop) -> None:
    tablet, events = away(shop)
    before = shop.sign(tablet, events, "4101")
    fresh = rotate_sealing_key(shop.uow, shop.means, OWNER)
    assert fresh != before.data["key"]
    after = shop.sign(tablet, events, "4101")
    assert after.data["key"] == fresh
    shop.push(tablet)
    assert verdict(shop, before).verdict == "confirmed"
    assert verdict(shop, after).verdict == "confirmed"
    with shop.reader as uow:
        assert [one.subject for one in uow.journal.of_kind("sealing key")] == [fresh]
    assert_all_there(shop, tablet)
