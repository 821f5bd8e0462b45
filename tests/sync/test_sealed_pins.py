"""Sealed PINs: bound to one signature of one person on one tablet, good once, and to keys that change."""

from __future__ import annotations

import json
from base64 import b64encode
from typing import Any

import pytest

from api.domain.errors import NotAllowed
from api.domain.events import Event, covered_hash, hash_of, parse
from api.domain.records import StoredSignature
from api.security.sealing import load_or_make
from api.use_cases import keys
from api.use_cases.setups import get_setup
from api.use_cases.shop import shop_data
from tests.support.script import Tablet
from tests.support.shop import LEAD, OWNER, SETUP, STEPS, Shop, covered_texts, revision

RIGHT, WRONG = "4101", "9999"
MOVED = "The sealed PIN does not belong to this signature; sign again."
USED = "This sealed PIN was used before; sign again."


def worked(shop: Shop) -> tuple[Tablet, list[Event]]:
    tablet = shop.tablet()
    events = [tablet.open(), *tablet.work(STEPS, "sign")]
    shop.push(tablet)
    return tablet, events


def verdict(shop: Shop, event: Event) -> StoredSignature:
    with shop.reader as uow:
        found = uow.signatures.get(event.id)
    assert found is not None
    return found


def judged(shop: Shop, tablet: Tablet, event: Event) -> tuple[str, str | None]:
    shop.push(tablet, tablet.texts[-1:])
    found = verdict(shop, event)
    return found.verdict, found.reason


def tries(shop: Shop, badge: str = "B-01") -> int:
    with shop.reader as uow:
        credential = uow.people.credential(badge, "pin")
    assert credential is not None
    return credential.tries


def sealed(shop: Shop, tablet: Tablet, events: list[Event], pin: str = RIGHT) -> dict[str, Any]:
    """A sealed PIN taken from a signature that was never sent."""
    n, prev, texts = tablet.n, tablet.prev, list(tablet.texts)
    data = dict(shop.sign(tablet, events, pin).data)
    tablet.n, tablet.prev, tablet.texts = n, prev, texts
    return data


def test_a_pin_moved_to_another_person_meaning_kind_of_record_or_setup_does_not_open(
    shop: Shop,
) -> None:
    tablet, events = worked(shop)
    for change in ("person", "meaning", "setup"):
        stolen = sealed(shop, tablet, events)
        if change == "person":
            tablet.person = "B-02"
        if change == "setup":
            tablet.setup = "01920000-0000-7000-8000-000000000def"
            tablet.open()
            shop.push(tablet, tablet.texts[-1:])
            events = [parse(tablet.texts[-1])]
            stolen["covers"] = {
                "events": [events[0].id],
                "hash": covered_hash([hash_of(tablet.texts[-1])]),
            }
        if change == "meaning":
            stolen["meaning"] = "accepted by"
        moved = tablet.write("signed", "sign", **stolen)
        assert judged(shop, tablet, moved) == ("refused", MOVED)
        tablet.person = "B-01"
    assert tries(shop) == tries(shop, "B-02") == 0


def test_a_pin_moved_to_another_tablet_does_not_open(shop: Shop) -> None:
    tablet, events = worked(shop)
    stolen = sealed(shop, tablet, events)
    thief = shop.tablet("tab-2")
    moved = thief.write("signed", "sign", **stolen)
    assert judged(shop, thief, moved) == ("refused", MOVED)


def test_the_same_sealed_pin_signs_once(shop: Shop) -> None:
    tablet, events = worked(shop)
    first = shop.sign(tablet, events, RIGHT)
    assert judged(shop, tablet, first) == ("confirmed", None)
    again = tablet.write("signed", "sign", **first.data)
    assert judged(shop, tablet, again) == ("refused", USED)
    assert verdict(shop, first).verdict == "confirmed"


def test_a_wrong_pin_sent_under_many_names_counts_one_try(shop: Shop) -> None:
    tablet, events = worked(shop)
    first = shop.sign(tablet, events, WRONG)
    assert judged(shop, tablet, first) == ("refused", "Wrong PIN.")
    for _ in range(10):
        assert judged(shop, tablet, tablet.write("signed", "sign", **first.data))[1] == USED
    assert tries(shop) == 1


def test_a_signature_of_schema_1_still_opens_with_what_it_was_sealed_with(shop: Shop) -> None:
    tablet, events = worked(shop)
    fingerprint = covered_hash([hash_of(text) for _, text in covered_texts(tablet, events)])
    info = f"clampbook-sign/1 {SETUP} {fingerprint}".encode()
    pin = b64encode(shop.keys.seal(RIGHT.encode(), info)).decode()
    for schema, expected in ((2, "refused"), (1, "confirmed")):
        fresh = b64encode(shop.keys.seal(RIGHT.encode(), info)).decode() if schema == 2 else pin
        tablet.sign(events, sealed=fresh, key=shop.keys.key_id)
        raw = json.loads(tablet.texts[-1]) | {"schema": schema}
        tablet.texts[-1] = json.dumps(raw)
        tablet.prev = hash_of(tablet.texts[-1])
        shop.push(tablet, tablet.texts[-1:])
        with shop.reader as uow:
            found = uow.signatures.get(raw["id"])
        assert found is not None
        assert found.verdict == expected


def test_pins_sealed_before_a_new_key_still_open_and_tablets_are_told_of_it(shop: Shop) -> None:
    tablet, events = worked(shop)
    before = shop.keys.key_id
    version = shop_data(shop.reader, shop.means).version
    waiting = shop.sign(tablet, events, RIGHT)
    made = keys.rotate_sealing_key(shop.uow, shop.means, OWNER)
    assert made != before
    data = shop_data(shop.reader, shop.means)
    assert (data.key["id"], data.version == version) == (made, False)
    assert judged(shop, tablet, waiting) == ("confirmed", None)
    assert judged(shop, tablet, shop.sign(tablet, events, RIGHT)) == ("confirmed", None)
    with shop.reader as uow:
        entry = uow.journal.last("sealing key")
    assert entry is not None
    assert (entry.by, json.loads(entry.body)) == ("B-05", {"key": made, "before": before})
    assert keys.sealing_key(shop.reader, shop.means).since == shop.clock.now()


def test_a_new_key_is_an_owners_and_outlives_the_server(shop: Shop) -> None:
    with pytest.raises(NotAllowed):
        keys.rotate_sealing_key(shop.uow, shop.means, LEAD)
    first = shop.keys.key_id
    sealed_first = shop.keys.seal(b"4101", b"x")
    made = keys.rotate_sealing_key(shop.uow, shop.means, OWNER)
    later = load_or_make(shop.keys._folder)
    assert later.key_id == made
    assert later.open(first, sealed_first, b"x") == b"4101"
    assert later.open(made, shop.keys.seal(b"4102", b"y"), b"y") == b"4102"


def asks_for_two(shop: Shop) -> tuple[Tablet, list[Event]]:
    """The shop's design asks for a second person; the first has signed."""
    with shop.uow as uow:
        made = revision(shop.clock.now())
        uow.designs.save(
            revision(shop.clock.now(), sheet={**(made.sheet or {}), "countersign": True})
        )
        uow.commit()
    tablet, events = worked(shop)
    events.append(shop.sign(tablet, events, RIGHT))
    shop.push(tablet, tablet.texts[-1:])
    return tablet, events


def countersign(shop: Shop, tablet: Tablet, events: list[Event], person: str, pin: str) -> Event:
    tablet.person = person
    data = sealed(shop, tablet, events, pin)
    return tablet.write("countersigned", None, **data)


def phase(shop: Shop) -> tuple[str, bool]:
    summary = get_setup(shop.reader, SETUP).summary
    assert summary is not None
    return summary.phase, "second signature wanted" in summary.flags


def test_a_plate_is_ready_only_when_a_second_person_has_signed(shop: Shop) -> None:
    tablet, events = asks_for_two(shop)
    assert phase(shop) == ("working", True)
    same = countersign(shop, tablet, events, "B-01", RIGHT)
    assert judged(shop, tablet, same) == ("refused", "A second person countersigns.")
    wrong = countersign(shop, tablet, events, "B-02", WRONG)
    assert judged(shop, tablet, wrong) == ("refused", "Wrong PIN.")
    assert phase(shop) == ("working", True)
    second = countersign(shop, tablet, events, "B-02", "4102")
    assert judged(shop, tablet, second) == ("confirmed", None)
    assert phase(shop) == ("signed", False)


def test_a_run_without_the_second_signature_is_marked(shop: Shop) -> None:
    tablet, _ = asks_for_two(shop)
    tablet.write("step done", "machine")
    taken = shop.push(tablet, tablet.texts[-1:])
    assert "machined before the second signature" in taken.results[0].flags
