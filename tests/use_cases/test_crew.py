"""The crew: signing in, locks, roles, and who may change whom."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest

from api.domain.errors import BadInput, Clash, NotAllowed, NotFound, NotSignedIn, TooMany
from api.domain.people import Person, Role
from api.use_cases import crew
from tests.support.shop import ENGINEER, LEAD, OPERATOR, OWNER, Shop

PASSWORD = "bench-b03"


@pytest.fixture(autouse=True)
def passwords(shop: Shop) -> None:
    crew.set_password(shop.uow, shop.means, "B-03", PASSWORD, OWNER)


def test_badge_and_password_open_a_session_that_ends_by_itself(shop: Shop) -> None:
    opened = crew.sign_in(shop.uow, shop.means, "B-03", PASSWORD)
    assert opened.person == LEAD
    assert crew.who(shop.reader, shop.means, opened.token) == LEAD
    shop.clock.forward(12 * 3600)
    assert crew.who(shop.reader, shop.means, opened.token) is None


def test_signing_out_ends_the_session(shop: Shop) -> None:
    opened = crew.sign_in(shop.uow, shop.means, "B-03", PASSWORD)
    crew.sign_out(shop.uow, shop.means, opened.token)
    assert crew.who(shop.reader, shop.means, opened.token) is None


def test_a_strange_token_is_nobody(shop: Shop) -> None:
    for token in (None, "", "x", "\ud800", "é" * 5000):
        assert crew.who(shop.reader, shop.means, token) is None


def test_a_wrong_badge_and_a_wrong_password_answer_alike(shop: Shop) -> None:
    for badge in ("B-03", "B-99", "", "B-01", "b\0", "\ud800"):
        with pytest.raises(NotSignedIn, match="do not fit"):
            crew.sign_in(shop.uow, shop.means, badge, "wrong password")


def test_five_wrong_passwords_lock_the_badge_for_a_while(shop: Shop) -> None:
    for _ in range(5):
        with pytest.raises(NotSignedIn):
            crew.sign_in(shop.uow, shop.means, "B-03", "wrong password")
    with pytest.raises(TooMany) as caught:
        crew.sign_in(shop.uow, shop.means, "B-03", PASSWORD)
    assert caught.value.where["retry_after_s"] == 31
    shop.clock.forward(30)
    assert crew.sign_in(shop.uow, shop.means, "B-03", PASSWORD).person == LEAD


def test_an_inactive_person_cannot_sign_in_and_loses_open_sessions(shop: Shop) -> None:
    opened = crew.sign_in(shop.uow, shop.means, "B-03", PASSWORD)
    crew.save_person(shop.uow, shop.means, LEAD.model_copy(update={"active": False}), OWNER)
    assert crew.who(shop.reader, shop.means, opened.token) is None
    with pytest.raises(NotSignedIn):
        crew.sign_in(shop.uow, shop.means, "B-03", PASSWORD)


def test_a_new_password_ends_the_sessions_opened_with_the_old_one(shop: Shop) -> None:
    opened = crew.sign_in(shop.uow, shop.means, "B-03", PASSWORD)
    crew.set_password(shop.uow, shop.means, "B-03", "another password", LEAD)
    assert crew.who(shop.reader, shop.means, opened.token) is None


def test_a_lead_adds_people_and_the_list_says_who_has_which_secret(shop: Shop) -> None:
    crew.save_person(shop.uow, shop.means, Person(badge="B-06", role=Role.OPERATOR), LEAD)
    people = {one.badge: one for one in crew.list_people(shop.reader)}
    assert not people["B-06"].has_pin
    assert people["B-03"].has_pin
    assert people["B-03"].has_password
    assert people["B-01"].locked_until is None


def test_others_do_not_change_the_crew(shop: Shop) -> None:
    for by in (OPERATOR, ENGINEER):
        with pytest.raises(NotAllowed):
            crew.save_person(shop.uow, shop.means, Person(badge="B-06", role=Role.OPERATOR), by)
        with pytest.raises(NotAllowed):
            crew.set_pin(shop.uow, shop.means, "B-03", "1234", by)


def test_only_an_owner_makes_changes_or_resets_an_owner(shop: Shop) -> None:
    with pytest.raises(NotAllowed):
        crew.save_person(shop.uow, shop.means, Person(badge="B-06", role=Role.OWNER), LEAD)
    with pytest.raises(NotAllowed):
        crew.save_person(shop.uow, shop.means, Person(badge="B-05", role=Role.OPERATOR), LEAD)
    with pytest.raises(NotAllowed):
        crew.set_password(shop.uow, shop.means, "B-05", "taken over now", LEAD)
    crew.save_person(shop.uow, shop.means, Person(badge="B-06", role=Role.OWNER), OWNER)


def test_nobody_changes_the_own_role_and_the_last_owner_stays(shop: Shop) -> None:
    with pytest.raises(Clash):
        crew.save_person(shop.uow, shop.means, Person(badge="B-03", role=Role.ENGINEER), LEAD)
    other = Person(badge="B-06", role=Role.OWNER)
    crew.save_person(shop.uow, shop.means, other, OWNER)
    crew.save_person(shop.uow, shop.means, OWNER.model_copy(update={"active": False}), other)
    with pytest.raises(Clash, match="last active owner"):
        crew.save_person(shop.uow, shop.means, other.model_copy(update={"active": False}), OWNER)


def test_a_person_sets_the_own_pin(shop: Shop) -> None:
    crew.set_pin(shop.uow, shop.means, "B-01", "7319", OPERATOR)
    with shop.reader as uow:
        credential = uow.people.credential("B-01", "pin")
    assert credential
    assert shop.means.pins.verify("7319", credential.hash)
    assert "7319" not in credential.hash


def test_a_pin_that_is_none_is_refused(shop: Shop) -> None:
    for pin in ("", "123", "123456789", "12a4", "1111", "١٢٣٤", " 1234"):
        with pytest.raises(BadInput, match="4 to 8 digits"):
            crew.set_pin(shop.uow, shop.means, "B-01", pin, LEAD)


def test_a_password_that_is_none_is_refused(shop: Shop) -> None:
    for password in ("", "short", "x" * 201):
        with pytest.raises(BadInput, match="8 to 200"):
            crew.set_password(shop.uow, shop.means, "B-01", password, LEAD)


def test_secrets_of_an_unknown_badge_cannot_be_set(shop: Shop) -> None:
    with pytest.raises(NotFound):
        crew.set_pin(shop.uow, shop.means, "B-99", "1234", LEAD)


def test_wrong_passwords_at_once_are_all_counted(shop: Shop) -> None:
    def guess(number: int) -> type[Exception]:
        with pytest.raises((NotSignedIn, TooMany)) as caught:
            crew.sign_in(shop.uow, shop.means, "B-03", f"guess number {number}")
        return caught.type

    with ThreadPoolExecutor(12) as pool:
        answers = list(pool.map(guess, range(12)))
    assert answers.count(NotSignedIn) == 5
    assert answers.count(TooMany) == 7


def test_every_change_of_the_crew_is_in_the_journal_and_no_secret_is(shop: Shop) -> None:
    with shop.reader as uow:
        began = uow.events.head()
    newcomer = Person(badge="B-06", role=Role.OPERATOR)
    crew.save_person(shop.uow, shop.means, newcomer, LEAD)
    crew.save_person(shop.uow, shop.means, newcomer, LEAD)
    crew.set_pin(shop.uow, shop.means, "B-06", "7406", LEAD)
    crew.set_password(shop.uow, shop.means, "B-06", "grey heron 12", LEAD)
    crew.save_person(shop.uow, shop.means, newcomer.model_copy(update={"active": False}), OWNER)
    with shop.reader as uow:
        entries = uow.journal.after(began, 10)
    assert [(one.kind, one.subject, one.body, one.by) for one in entries] == [
        ("person", "B-06", '{"active":true,"badge":"B-06","role":"operator"}', "B-03"),
        ("secret", "B-06", '{"badge":"B-06","kind":"pin"}', "B-03"),
        ("secret", "B-06", '{"badge":"B-06","kind":"password"}', "B-03"),
        ("person", "B-06", '{"active":false,"badge":"B-06","role":"operator"}', "B-05"),
    ]
