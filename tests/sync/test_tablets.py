"""Forged records, copies of a tablet, revocation: what a forger gets and what a lead sees."""

from __future__ import annotations

from typing import Any

import pytest

from api.domain.errors import BadInput, ClampbookError, Clash
from api.domain.records import StoredSignature
from api.security.tablet_keys import TabletKey
from api.use_cases import tablets
from api.use_cases.records import Accepted, Seen, accept_events
from api.use_cases.setups import get_setup
from tests.support.script import Tablet as Writer
from tests.support.script import key_of
from tests.support.shop import LEAD, SETUP, STEPS, Shop, push
from tests.sync.tablets import ask, begun, known, new_code, send, told

UNSIGNED = "It is not signed by the key of tablet tab-1."

FORGED: list[tuple[str, Any]] = [
    ("none", lambda sig: None),
    ("empty", lambda sig: ""),
    ("of another text", lambda _: key_of("tab-1").sign("clampbook-event/1 " + "0" * 64)),
    ("of another tablet", lambda _: "by tab-2"),
    ("cut", lambda sig: sig[:-4]),
    ("with rubbish after it", lambda sig: sig + "A"),
    ("zeros", lambda _: "A" * 86 + "=="),
]


@pytest.mark.parametrize("forge", [one for _, one in FORGED], ids=[name for name, _ in FORGED])
def test_a_forged_signature_is_set_aside_and_takes_no_number(shop: Shop, forge: Any) -> None:
    tablet = begun(shop)
    shop.tablet("tab-2")
    sigs = [forge(one) for one in tablet.sigs()]
    if sigs[0] == "by tab-2":
        other = Writer("tab-2", setup=SETUP)
        sigs = other.sigs(tablet.texts)
    taken = accept_events(shop.uow, shop.means, "tab-2", "test", tablet.texts, sigs)
    assert {(one.outcome, one.message) for one in taken.results} == {("set aside", UNSIGNED)}
    assert known(shop).highest == 0
    assert {one.outcome for one in shop.push(tablet).results} == {"stored"}
    assert told(shop, "tablet forked") == []


def test_an_event_of_a_tablet_that_nobody_let_in_is_set_aside(shop: Shop) -> None:
    stranger = Writer("tab-7", setup=SETUP)
    stranger.open()
    taken = accept_events(shop.uow, shop.means, "tab-1", "test", stranger.texts, stranger.sigs())
    assert taken.results[0].message == "It is not signed by the key of tablet tab-7."
    with shop.reader as uow:
        assert uow.tablets.get("tab-7") is None


def test_the_signature_is_kept_with_its_event_and_what_is_set_aside(shop: Shop) -> None:
    tablet = begun(shop)
    sigs = tablet.sigs()
    accept_events(shop.uow, shop.means, "tab-1", "test", tablet.texts, sigs)
    accept_events(shop.uow, shop.means, "tab-1", "test", ["rubbish"], [sigs[0]])
    with shop.reader as uow:
        assert [one.sig for one in uow.events.after(0, 100)] == sigs
        assert uow.events.set_asides(1, 5).items[0].sig == sigs[0]


def copied(shop: Shop) -> tuple[Writer, Accepted]:
    """A copy of the tablet that goes its own way from its first record on."""
    push(shop, begun(shop))
    clone = Writer("tab-1", setup=SETUP)
    clone.open(plate="SAD-20-001", due=["copy"])
    return clone, push(shop, clone)


def test_a_copy_of_a_tablet_is_found_out_at_its_first_record(shop: Shop) -> None:
    clone, taken = copied(shop)
    assert [one.outcome for one in taken.results] == ["set aside"]
    assert taken.tablet == "forked"
    assert known(shop).forked_at == shop.clock.now()
    clone.write("note", None, text="still here")
    assert push(shop, clone).tablet == "forked"
    assert told(shop, "tablet forked") == [{"tablet": "tab-1", "name": "tab-1", "n": 1}]


def test_what_a_forked_tablet_sends_later_is_kept_and_marked(shop: Shop) -> None:
    clone, _ = copied(shop)
    clone.n = known(shop).highest
    clone.write("note", None, text="on top")
    assert "tablet forked" in push(shop, clone, clone.texts[-1:]).results[0].flags


def test_a_forked_or_revoked_tablet_is_let_in_only_under_a_new_name(shop: Shop) -> None:
    copied(shop)
    with pytest.raises(Clash):
        ask(shop, new_code(shop))
    shop.tablet("tab-2")
    tablets.revoke(shop.uow, shop.means, "tab-2", "lost", LEAD)
    for key in (key_of("tab-2"), TabletKey()):
        with pytest.raises(Clash) as caught:
            ask(shop, new_code(shop), "tab-2", key)
        assert caught.value.code == "tablet-known"


def test_a_revoked_tablets_records_are_kept_and_marked_and_its_signatures_refused(
    shop: Shop,
) -> None:
    tablet = shop.tablet()
    events = [tablet.open(), *tablet.work(STEPS, "sign")]
    push(shop, tablet)
    nonce = tablets.challenge(shop.means, "tab-1")
    proof = key_of("tab-1").sign(tablets.session_text(nonce, "tab-1"))
    token = tablets.open_session(shop.uow, shop.means, "tab-1", nonce, proof).token
    tablets.revoke(shop.uow, shop.means, "tab-1", "  left on\nthe bus ", LEAD)
    assert tablets.who(shop.reader, shop.means, token) is None
    signed = shop.sign(tablet, events, "4101")
    taken = push(shop, tablet, tablet.texts[-1:])
    assert (taken.results[0].outcome, taken.tablet) == ("stored", "revoked")
    assert "tablet revoked" in taken.results[0].flags
    verdict = signature(shop, signed.id)
    assert (verdict.verdict, verdict.reason) == (
        "refused",
        "Its tablet was revoked before it arrived.",
    )
    assert tries(shop) == 0
    assert told(shop, "tablet revoked") == [
        {"tablet": "tab-1", "name": "tab-1", "reason": "left on the bus"}
    ]
    summary = get_setup(shop.reader, SETUP).summary
    assert summary is not None
    assert (summary.phase, "tablet revoked" in summary.flags) == ("working", True)


def signature(shop: Shop, event: str) -> StoredSignature:
    with shop.reader as uow:
        found = uow.signatures.get(event)
    assert found is not None
    return found


def tries(shop: Shop) -> int:
    with shop.reader as uow:
        credential = uow.people.credential("B-01", "pin")
    assert credential is not None
    return credential.tries


def test_a_tablet_is_revoked_once_and_for_a_reason(shop: Shop) -> None:
    shop.tablet()
    cases: list[tuple[str, str, type[ClampbookError]]] = [
        ("tab-1", "", BadInput),
        ("tab-1", "x" * 501, BadInput),
        ("tab-9", "lost", ClampbookError),
    ]
    for name, reason, error in cases:
        with pytest.raises(error):
            tablets.revoke(shop.uow, shop.means, name, reason, LEAD)
    tablets.revoke(shop.uow, shop.means, "tab-1", "lost", LEAD)
    with pytest.raises(Clash):
        tablets.revoke(shop.uow, shop.means, "tab-1", "lost", LEAD)


def test_a_tablet_that_saw_another_chain_is_written_down_once(shop: Shop) -> None:
    tablet = begun(shop)
    push(shop, tablet)
    with shop.reader as uow:
        event, epoch = uow.events.after(0, 100)[2], uow.shop.meta().epoch
        entry = uow.journal.after(0, 1)[0]
    for row in (event, entry):
        send(shop, tablet, Seen(row.seq, row.chain, epoch))
    send(shop, tablet, Seen(event.seq, "ab" * 32, "an epoch before a restore"))
    assert told(shop, "tablet saw another chain") == []
    for _ in range(2):
        send(shop, tablet, Seen(event.seq, "ab" * 32, epoch))
    send(shop, tablet, Seen(10_000, "ab" * 32))
    assert told(shop, "tablet saw another chain") == [
        {"tablet": "tab-1", "seq": event.seq, "saw": "ab" * 32, "here": event.chain},
        {"tablet": "tab-1", "seq": 10_000, "saw": "ab" * 32, "here": None},
    ]


def test_a_push_is_answered_with_the_newest_checkpoint(shop: Shop) -> None:
    tablet = begun(shop)
    assert push(shop, tablet).checkpoint is None
    with shop.uow as uow:
        for seq in (1, 2):
            uow.journal.add("checkpoint", str(seq), {"seq": seq}, shop.clock.now())
        uow.commit()
    assert push(shop, tablet).checkpoint == {"seq": 2}
