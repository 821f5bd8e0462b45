"""Office sessions: how long they hold, and that they are in use."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from api.domain.people import Person
from api.domain.records import OfficeSession
from api.use_cases.ports import Means, UnitOfWork

LONGEST = dt.timedelta(hours=12)
LONGEST_IDLE = dt.timedelta(minutes=30)
NOTED_EVERY = dt.timedelta(minutes=1)
MOST_OF_ONE = 8


@dataclass(frozen=True, slots=True)
class Seat:
    """A person in a session that holds."""

    person: Person
    session: OfficeSession


def begin(uow: UnitOfWork, means: Means, person: Person) -> tuple[str, OfficeSession]:
    """A session with a new token; of too many, the oldest end. The caller commits."""
    now, token = means.clock.now(), means.tokens.new()
    session = OfficeSession(means.tokens.digest(token), person.badge, now, now + LONGEST, now)
    earlier = uow.sessions.of(person.badge)
    for old in earlier[: max(len(earlier) + 1 - MOST_OF_ONE, 0)]:
        uow.sessions.end(old.digest)
    uow.sessions.add(session)
    return token, session


def seat(uow: UnitOfWork, means: Means, token: str | None) -> Seat | None:
    """Who sits there, if the session still holds and the person is active."""
    if not token:
        return None
    with uow:
        session = uow.sessions.get(means.tokens.digest(token))
        if session is None or not holds(session, means.clock.now()):
            return None
        person = uow.people.get(session.badge)
        return Seat(person, session) if person is not None and person.active else None


def holds(session: OfficeSession, now: dt.datetime) -> bool:
    """Whether neither its whole time nor the time without a request is over."""
    return now < session.expires_at and now < _last_seen(session) + LONGEST_IDLE


def is_to_note(session: OfficeSession, now: dt.datetime) -> bool:
    """Whether the time of its last use is old enough to be written anew."""
    return now >= _last_seen(session) + NOTED_EVERY


def note(uow: UnitOfWork, means: Means, session: OfficeSession) -> None:
    with uow:
        uow.sessions.see(session.digest, means.clock.now())
        uow.commit()


def _last_seen(session: OfficeSession) -> dt.datetime:
    return session.seen_at or session.opened_at
