"""A tablet's saved file handed in: every record checked as if the tablet had sent it, none twice."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from typing import Any

import pytest

from api.domain.errors import BadInput, NotAllowed, NotFound
from api.domain.handed_in import MOST_RECORDS
from api.domain.people import Person, Role
from api.use_cases import handing_in, inbox, setups, tablets
from api.use_cases.handing_in import BATCH, HandedIn
from tests.support.script import Tablet
from tests.support.shop import ENGINEER, LEAD, OPERATOR, PINS, SETUP, STEPS, Shop

AUDITOR = Person(badge="B-09", role=Role.AUDITOR)
OTHER = "01920000-0000-7000-8000-000000000bbb"


def file_of(*chains: Tablet, **changes: Any) -> bytes:
    """As the recovery page saves it; the last chain is the tablet's present name."""
    body = {
        "tablet": chains[-1].name,
        "build": "recover",
        "events": [text for one in chains for text in one.texts],
        "sigs": [sig for one in chains for sig in one.sigs()],
        "seen": None,
        "checkpoint": None,
    }
    return json.dumps({**body, **changes}).encode()


def hand_in(shop: Shop, content: bytes, by: Person = LEAD) -> HandedIn:
    return handing_in.hand_in(shop.uow, shop.means, content, by)


def counts(handed: HandedIn) -> tuple[int, int, int]:
    return handed.stored, handed.already, handed.set_aside


def contents(shop: Shop) -> tuple[int, int, int, list[Any]]:
    with shop.reader as uow:
        aside = uow.events.set_asides(1, 10).total
        return uow.events.count(), uow.journal.count(), aside, uow.tablets.all()


def worked(shop: Shop, name: str = "tab-1", setup: str = SETUP) -> Tablet:
    """A setup done up to its signature, none of it sent."""
    tablet = shop.tablet(name, setup=setup)
    tablet.open()
    list(tablet.work(STEPS, "sign"))
    return tablet


def test_what_a_tablet_could_not_send_is_stored_from_its_file(shop: Shop) -> None:
    tablet = worked(shop)
    shop.push(tablet, tablet.texts[:2])
    content = file_of(tablet)
    handed = hand_in(shop, content)
    late = len(tablet.texts) - 2
    assert counts(handed) == (late, 2, 0)
    assert handed.setups == {SETUP: late}
    assert len(setups.get_setup(shop.reader, SETUP).events) == len(tablet.texts)
    with shop.reader as uow:
        assert all(one.flags == () for one in uow.events.of_setup(SETUP))
        entry = uow.journal.last("handed in", "tab-1")
    assert entry is not None and entry.by == "B-03"
    assert json.loads(entry.body) == {
        "tablet": "tab-1",
        "file": hashlib.sha256(content).hexdigest(),
        "stored": late,
        "already": 2,
        "set aside": 0,
        "setups": {SETUP: late},
        "asides": [],
    }


def test_handed_in_twice_and_sent_later_nothing_is_stored_twice(shop: Shop) -> None:
    tablet = worked(shop)
    hand_in(shop, file_of(tablet))
    again = hand_in(shop, file_of(tablet))
    assert counts(again) == (0, len(tablet.texts), 0) and again.setups == {SETUP: 0}
    sent = shop.push(tablet)
    assert {one.outcome for one in sent.results} == {"already"}
    assert contents(shop)[0] == len(tablet.texts)
    told = [one.stored for one in handing_in.list_handed_in(shop.reader, AUDITOR)]
    assert told == [0, len(tablet.texts)]


def test_a_signature_in_the_file_is_judged_like_one_that_was_sent(shop: Shop) -> None:
    tablet = shop.tablet()
    events = [tablet.open(), *tablet.work(STEPS, "sign")]
    shop.sign(tablet, events, PINS["B-01"])
    hand_in(shop, file_of(tablet))
    with shop.reader as uow:
        assert [one.verdict for one in uow.signatures.of_setup(SETUP)] == ["confirmed"]


def test_more_than_one_batch_is_taken_whole(shop: Shop) -> None:
    tablet = shop.tablet()
    tablet.open()
    for number in range(BATCH):
        tablet.write("note", None, text=f"number {number}")
    handed = hand_in(shop, file_of(tablet))
    assert counts(handed) == (BATCH + 1, 0, 0) and handed.setups == {SETUP: BATCH + 1}


def test_an_unsigned_and_a_foreign_record_are_set_aside_and_named(shop: Shop) -> None:
    tablet, stranger = worked(shop), Tablet("tab-x", setup=OTHER)
    stranger.open()
    unsigned = tablet.sigs()
    unsigned[1] = None
    content = file_of(
        tablet,
        events=[*tablet.texts, *stranger.texts],
        sigs=[*unsigned, *stranger.sigs()],
    )
    handed = hand_in(shop, content)
    assert counts(handed) == (len(tablet.texts) - 1, 0, 2)
    told = handing_in.look(shop.reader, handed.entry.seq, AUDITOR)
    assert [one.reason for one in told.asides] == [
        "It is not signed by the key of tablet tab-1.",
        "It is not signed by the key of tablet tab-x.",
    ]
    assert [one.text for one in told.asides] == [tablet.texts[1], stranger.texts[0]]
    assert [(one.setup, one.stored) for one in told.setups] == [(SETUP, len(tablet.texts) - 1)]
    listed = inbox.list_items(shop.reader, shop.means, AUDITOR).page.items
    assert {one.key for one in listed if one.kind == "set-aside"} == set(handed.asides)
    assert counts(hand_in(shop, content)) == (0, len(tablet.texts) - 1, 2)
    assert contents(shop)[2] == 2


def test_a_forged_record_takes_no_number_of_the_tablet_it_names(shop: Shop) -> None:
    tablet = worked(shop)
    forged = json.loads(tablet.texts[1]) | {"person": "B-02"}
    content = file_of(tablet, events=[json.dumps(forged)], sigs=[tablet.sigs()[1]])
    assert counts(hand_in(shop, content)) == (0, 0, 1)
    assert {one.outcome for one in shop.push(tablet).results} == {"stored"}


def test_records_of_an_earlier_name_of_the_tablet_are_taken_too(shop: Shop) -> None:
    earlier, present = worked(shop, "tab-1"), worked(shop, "tab-2", OTHER)
    handed = hand_in(shop, file_of(earlier, present))
    assert counts(handed) == (len(earlier.texts) + len(present.texts), 0, 0)
    assert set(handed.setups) == {SETUP, OTHER}
    assert handed.tablet == "tab-2"


def test_a_name_that_is_unknown_here_is_not_made_known_by_a_file(shop: Shop) -> None:
    earlier, present = worked(shop, "tab-1"), Tablet("tab-new", setup=OTHER)
    present.open()
    handed = hand_in(shop, file_of(earlier, present))
    assert counts(handed) == (len(earlier.texts), 0, 1)
    with shop.reader as uow:
        assert uow.tablets.get("tab-new") is None


@pytest.mark.parametrize("flag", ["tablet revoked", "tablet forked"])
def test_the_file_of_a_revoked_or_copied_tablet_is_taken_and_marked(shop: Shop, flag: str) -> None:
    tablet = worked(shop)
    if flag == "tablet revoked":
        tablets.revoke(shop.uow, shop.means, tablet.name, "its screen is broken", LEAD)
    else:
        with shop.uow as uow:
            known = uow.tablets.get(tablet.name)
            assert known is not None
            uow.tablets.save(replace(known, forked_at=shop.clock.now()))
            uow.commit()
    assert counts(hand_in(shop, file_of(tablet))) == (len(tablet.texts), 0, 0)
    with shop.reader as uow:
        assert all(flag in one.flags for one in uow.events.of_setup(SETUP))


def test_a_tablet_whose_file_is_handed_in_has_not_been_seen(shop: Shop) -> None:
    tablet = worked(shop)
    with shop.reader as uow:
        before = uow.tablets.get(tablet.name)
    shop.clock.forward(3600)
    hand_in(shop, file_of(tablet))
    with shop.reader as uow:
        after = uow.tablets.get(tablet.name)
    assert before is not None and after is not None
    assert (after.last_seen, after.build) == (before.last_seen, before.build)
    assert after.highest == len(tablet.texts)


def test_a_checkpoint_of_another_history_in_the_file_is_noted(shop: Shop) -> None:
    tablet = worked(shop)
    with shop.reader as uow:
        epoch = uow.shop.meta().epoch
    hand_in(shop, file_of(tablet, seen={"seq": 1, "chain": "f" * 64, "epoch": epoch}))
    with shop.reader as uow:
        assert uow.journal.last("tablet saw another chain", "tab-1/1") is not None


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "it is not JSON"),
        (b"\xff\xfe{", "not text in UTF-8"),
        (b'{"tablet": "tab-1", "events": [', "may be cut off"),
        (b"[" * 200_000, "it is not JSON"),
        (b'{"n": ' + b"9" * 5000 + b"}", "it is not JSON"),
        (b"[]", "one JSON object"),
        (b'{"tablet": "tab-1", "sigs": []}', "'events' is missing"),
        (b'{"tablet": "tab-1", "events": [], "sigs": []}', "no records"),
        (b'{"tablet": "tab-1", "events": ["{}"], "sigs": []}', "one entry for each of events"),
        (b'{"tablet": "tab-1", "events": [1], "sigs": [null]}', "'events.0'"),
        (b'{"tablet": "tab-1", "events": ["{}"], "sigs": ["\\u0000"]}', "'sigs.0'"),
        (b'{"tablet": "<b>", "events": ["{}"], "sigs": [null]}', "'tablet': this is not written"),
        (
            b'{"tablet": "tab-1", "events": ["{}"], "sigs": [null], "seen": {"seq": true}}',
            "'seen.seq'",
        ),
        (
            json.dumps(
                {
                    "tablet": "tab-1",
                    "events": ["{}"] * (MOST_RECORDS + 1),
                    "sigs": [None] * (MOST_RECORDS + 1),
                }
            ).encode(),
            f"at most {MOST_RECORDS}",
        ),
    ],
)
def test_what_is_no_such_file_is_refused_and_changes_nothing(
    shop: Shop, content: bytes, says: str
) -> None:
    shop.tablet()
    before = contents(shop)
    with pytest.raises(BadInput, match=says) as caught:
        hand_in(shop, content)
    assert caught.value.where == {"field": "upload"}
    assert contents(shop) == before


def test_the_file_of_another_shop_is_refused_and_changes_nothing(shop: Shop) -> None:
    shop.tablet()
    stranger = Tablet("tab-x", setup=OTHER)
    stranger.open()
    before = contents(shop)
    with pytest.raises(BadInput, match="tab-x of this file was never enrolled in this shop"):
        hand_in(shop, file_of(stranger))
    assert contents(shop) == before


@pytest.mark.parametrize("by", [OPERATOR, ENGINEER, AUDITOR])
def test_only_a_lead_or_owner_hands_in(shop: Shop, by: Person) -> None:
    tablet = worked(shop)
    before = contents(shop)
    with pytest.raises(NotAllowed):
        hand_in(shop, file_of(tablet), by)
    assert contents(shop) == before


def test_only_what_was_handed_in_is_looked_at(shop: Shop) -> None:
    handed = hand_in(shop, file_of(worked(shop)))
    assert handing_in.look(shop.reader, handed.entry.seq, AUDITOR).handed == handed
    for seq in (1, handed.entry.seq - 1, handed.entry.seq + 1):
        with pytest.raises(NotFound):
            handing_in.look(shop.reader, seq, AUDITOR)
