"""Office sessions: when they end, and what ends them."""

from __future__ import annotations

import pytest

from api.domain.errors import BadInput, NotAllowed, NotSignedIn, TooMany
from api.domain.people import Person, Role
from api.use_cases import crew, sessions
from tests.support.shop import ENGINEER, LEAD, OWNER, Shop

PASSWORD = "bench-b03"


@pytest.fixture(autouse=True)
def passwords(shop: Shop) -> None:
    crew.set_password(shop.uow, shop.means, "B-03", PASSWORD, OWNER)


def sign_in(shop: Shop, before: str = "") -> str:
    return crew.sign_in(shop.uow, shop.means, "B-03", PASSWORD, before).token


def use(shop: Shop, token: str) -> bool:
    """One request with this token, as the desk takes it."""
    seat = sessions.seat(shop.reader, shop.means, token)
    if seat is not None and sessions.is_to_note(seat.session, shop.clock.now()):
        sessions.note(shop.uow, shop.means, seat.session)
    return seat is not None


def test_a_session_nobody_uses_ends_after_half_an_hour(shop: Shop) -> None:
    token = sign_in(shop)
    shop.clock.forward(30 * 60 - 1)
    assert use(shop, token)
    shop.clock.forward(30 * 60)
    assert not use(shop, token)


def test_a_session_in_use_holds_for_twelve_hours_and_no_longer(shop: Shop) -> None:
    token = sign_in(shop)
    for _ in range(12 * 3 - 1):
        shop.clock.forward(20 * 60)
        assert use(shop, token)
    shop.clock.forward(20 * 60)
    assert not use(shop, token)


def test_that_it_is_in_use_is_written_once_a_minute(shop: Shop) -> None:
    token = sign_in(shop)
    first = sessions.seat(shop.reader, shop.means, token)
    assert first
    shop.clock.forward(59)
    assert not sessions.is_to_note(first.session, shop.clock.now())
    shop.clock.forward(1)
    assert use(shop, token)
    again = sessions.seat(shop.reader, shop.means, token)
    assert again
    assert again.session.seen_at == shop.clock.now()


def test_each_sign_in_makes_a_new_token_and_ends_the_one_before(shop: Shop) -> None:
    first = sign_in(shop)
    second = sign_in(shop, before=first)
    assert first != second
    assert not use(shop, first)
    assert use(shop, second)


def test_a_token_somebody_planted_is_not_taken_over(shop: Shop) -> None:
    planted = "planted-by-somebody-else"
    assert sign_in(shop, before=planted) != planted
    assert not use(shop, planted)


def test_a_wrong_sign_in_leaves_the_session_there_is(shop: Shop) -> None:
    token = sign_in(shop)
    with pytest.raises(NotSignedIn):
        crew.sign_in(shop.uow, shop.means, "B-03", "not this one", before=token)
    assert use(shop, token)


@pytest.mark.parametrize(
    "after", [Person(badge="B-03", role=Role.OPERATOR), LEAD.model_copy(update={"active": False})]
)
def test_a_change_of_role_or_state_ends_the_sessions(shop: Shop, after: Person) -> None:
    token = sign_in(shop)
    crew.save_person(shop.uow, shop.means, LEAD, OWNER)
    assert use(shop, token)
    crew.save_person(shop.uow, shop.means, after, OWNER)
    assert not use(shop, token)


def test_of_many_sessions_the_oldest_end(shop: Shop) -> None:
    tokens = [sign_in(shop) for _ in range(sessions.MOST_OF_ONE + 2)]
    assert [use(shop, token) for token in tokens] == [False] * 2 + [True] * sessions.MOST_OF_ONE


def test_a_person_sees_and_ends_the_other_sessions(shop: Shop) -> None:
    own, other = sign_in(shop), sign_in(shop)
    assert len(crew.open_sessions(shop.reader, shop.means, "B-03")) == 2
    crew.end_sessions(shop.uow, shop.means, "B-03", LEAD, but=own)
    assert len(crew.open_sessions(shop.reader, shop.means, "B-03")) == 1
    assert use(shop, own)
    assert not use(shop, other)


def test_a_lead_ends_anothers_sessions_and_an_engineer_does_not(shop: Shop) -> None:
    token = sign_in(shop)
    with pytest.raises(NotAllowed):
        crew.end_sessions(shop.uow, shop.means, "B-03", ENGINEER)
    assert use(shop, token)
    crew.end_sessions(shop.uow, shop.means, "B-03", OWNER)
    assert not use(shop, token)


def test_sessions_that_ended_by_themselves_are_not_counted_as_open(shop: Shop) -> None:
    sign_in(shop)
    shop.clock.forward(31 * 60)
    assert crew.open_sessions(shop.reader, shop.means, "B-03") == []


def test_the_own_password_is_asked_for_and_wrong_ones_count(shop: Shop) -> None:
    crew.confirm(shop.uow, shop.means, LEAD, PASSWORD)
    for _ in range(5):
        with pytest.raises(BadInput, match="not your password"):
            crew.confirm(shop.uow, shop.means, LEAD, "a guess of mine")
    with pytest.raises(TooMany):
        crew.confirm(shop.uow, shop.means, LEAD, PASSWORD)
    with pytest.raises(TooMany):
        sign_in(shop)


def test_a_password_is_compared_whole(shop: Shop) -> None:
    long = "a long one " * 18 + "x" * 2
    assert len(long) == 200
    crew.set_password(shop.uow, shop.means, "B-03", long, OWNER)
    assert crew.sign_in(shop.uow, shop.means, "B-03", long).person == LEAD
    for other in (long + "x", long[:-1], long.upper(), f" {long}"[:200]):
        with pytest.raises(NotSignedIn):
            crew.sign_in(shop.uow, shop.means, "B-03", other)
