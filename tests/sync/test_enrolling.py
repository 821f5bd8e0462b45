"""Enrolment by code and sessions by key: who may speak for a tablet."""

from __future__ import annotations

from typing import Any

import pytest

from api.domain.errors import Clash, NotAllowed, NotSignedIn
from api.domain.people import Person, Role
from api.domain.records import Tablet
from api.security.tablet_keys import TabletKey
from api.use_cases import tablets
from tests.support.script import Tablet as Writer
from tests.support.script import key_of
from tests.support.shop import ENGINEER, OPERATOR, OWNER, SETUP, Shop, enrol
from tests.sync.tablets import ask, begun, known, new_code, send, told


def test_a_code_lets_one_tablet_in_and_the_journal_says_who_made_it(shop: Shop) -> None:
    code = new_code(shop)
    assert len(code) == 11
    assert code[5] == "-"
    assert set(code) <= {*tablets.ALPHABET, "-"}
    made = ask(shop, code.lower())
    assert (made.tablet, made.name) == ("tab-1", "Bench 1")
    assert told(shop, "tablet enrolled") == [
        {
            "tablet": "tab-1",
            "name": "Bench 1",
            "key": key_of("tab-1").public,
            "code made by": "B-03",
        }
    ]
    with pytest.raises(NotAllowed) as caught:
        ask(shop, code, "tab-2")
    assert caught.value.code == "code-unknown"


def test_a_code_ends_after_ten_minutes_and_codes_differ(shop: Shop) -> None:
    assert len({new_code(shop) for _ in range(20)}) == 20
    code = new_code(shop)
    shop.clock.forward(600)
    with pytest.raises(NotAllowed, match="ten minutes"):
        ask(shop, code)
    code = new_code(shop)
    shop.clock.forward(599)
    assert ask(shop, code).name == "Bench 1"


def test_the_database_never_holds_a_code(shop: Shop) -> None:
    code = new_code(shop)
    connection = shop.database.reader.raw_connection()
    try:
        cursor = connection.cursor()
        cursor.execute("SELECT * FROM enrol_code")
        rows = str(cursor.fetchall())
    finally:
        connection.close()
    assert "B-03" in rows
    assert code not in rows
    assert tablets.plain_code(code) not in rows


def test_asking_again_with_the_same_key_answers_alike_and_writes_nothing(shop: Shop) -> None:
    code = new_code(shop)
    assert ask(shop, code) == ask(shop, code)
    assert len(told(shop, "tablet enrolled")) == 1


def test_another_key_does_not_take_a_tablets_name_and_the_code_stays_good(shop: Shop) -> None:
    ask(shop, new_code(shop))
    code = new_code(shop)
    with pytest.raises(Clash) as caught:
        ask(shop, code, "tab-1", TabletKey())
    assert caught.value.code == "tablet-known"
    assert known(shop).key == key_of("tab-1").public
    assert ask(shop, code, "tab-2").tablet == "tab-2"


@pytest.mark.parametrize(
    ("key", "proof"),
    [
        (lambda key: "A" * 88, lambda proof: proof),
        (lambda key: key[:-4], lambda proof: proof),
        (lambda key: key + " ", lambda proof: proof),
        (lambda key: TabletKey().public, lambda proof: proof),
        (lambda key: key, lambda proof: proof[::-1]),
        (lambda key: key, lambda proof: ""),
        (lambda key: key, lambda proof: "AA" * 43 + "=="),
    ],
)
def test_a_key_must_be_a_point_and_prove_itself(shop: Shop, key: Any, proof: Any) -> None:
    code, own = new_code(shop), key_of("tab-1")
    signed = own.sign(tablets.enrol_text(tablets.plain_code(code), "tab-1"))
    with pytest.raises(NotAllowed) as caught:
        tablets.enrol(shop.uow, shop.means, code, "tab-1", key(own.public), proof(signed), "test")
    assert caught.value.code == "proof-wrong"
    assert ask(shop, code).tablet == "tab-1"


@pytest.mark.parametrize("by", [OPERATOR, ENGINEER, Person(badge="B-09", role=Role.AUDITOR)])
def test_only_a_lead_or_owner_lets_in_names_and_revokes(shop: Shop, by: Person) -> None:
    shop.tablet()
    for deed in (
        lambda: new_code(shop, by=by),
        lambda: tablets.rename(shop.uow, "tab-1", "Bench 9", by),
        lambda: tablets.revoke(shop.uow, shop.means, "tab-1", "lost", by),
    ):
        with pytest.raises(NotAllowed):
            deed()
    assert new_code(shop, by=OWNER)


def opened(shop: Shop, name: str = "tab-1", key: TabletKey | None = None) -> str:
    nonce = tablets.challenge(shop.means, name)
    proof = (key or key_of(name)).sign(tablets.session_text(nonce, name))
    return tablets.open_session(shop.uow, shop.means, name, nonce, proof).token


def test_a_session_is_for_twelve_hours_and_its_nonce_for_once(shop: Shop) -> None:
    shop.tablet()
    nonce = tablets.challenge(shop.means, "tab-1")
    proof = key_of("tab-1").sign(tablets.session_text(nonce, "tab-1"))
    token = tablets.open_session(shop.uow, shop.means, "tab-1", nonce, proof).token
    with pytest.raises(NotSignedIn):
        tablets.open_session(shop.uow, shop.means, "tab-1", nonce, proof)
    found = tablets.who(shop.reader, shop.means, token)
    assert found is not None
    assert found.id == "tab-1"
    assert tablets.who(shop.reader, shop.means, token + "x") is None
    shop.clock.forward(12 * 3600)
    assert tablets.who(shop.reader, shop.means, token) is None


def test_a_session_is_not_opened_by_another_key_name_or_nonce(shop: Shop) -> None:
    shop.tablet()
    shop.tablet("tab-2")
    with pytest.raises(NotSignedIn):
        opened(shop, key=key_of("tab-2"))
    with pytest.raises(NotSignedIn):
        opened(shop, "tab-9")
    own = key_of("tab-1")
    foreign = tablets.challenge(shop.means, "tab-2")
    ends, token, seal = tablets.challenge(shop.means, "tab-1").split("-")
    longer = f"{float(ends) + 600:.3f}-{token}-{seal}"
    for nonce in (foreign, longer, "", "-", "--", f"{ends}-{token}-", "x" * 100):
        proof = own.sign(tablets.session_text(nonce, "tab-1"))
        with pytest.raises(NotSignedIn) as caught:
            tablets.open_session(shop.uow, shop.means, "tab-1", nonce, proof)
        assert caught.value.code == "not-enrolled"


def test_a_nonce_looks_alike_whether_the_tablet_is_known_or_not(shop: Shop) -> None:
    shop.tablet()
    nonces = [tablets.challenge(shop.means, name) for name in ("tab-1", "nobody")]
    assert len({len(one) for one in nonces}) == 1


def test_a_tablet_from_before_keys_enrols_and_goes_on_with_its_numbers(shop: Shop) -> None:
    now = shop.clock.now()
    with shop.uow as uow:
        uow.tablets.save(Tablet("tab-1", now, now, "old", contiguous=0, highest=0))
        uow.commit()
    tablet = Writer("tab-1", setup=SETUP)
    tablet.open()
    assert {one.outcome for one in send(shop, tablet).results} == {"set aside"}
    ask(shop, new_code(shop))
    assert {one.outcome for one in send(shop, tablet).results} == {"stored"}
    assert (known(shop).first_seen, known(shop).name) == (now, "Bench 1")


def test_enrolling_a_known_tablet_changes_nothing(shop: Shop) -> None:
    tablet = begun(shop)
    before = known(shop)
    enrol(shop, tablet)
    assert known(shop) == before
