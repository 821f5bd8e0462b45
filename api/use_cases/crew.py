"""The crew: signing in to the office, people, roles, PINs and passwords."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from api.domain.errors import BadInput, Clash, NotFound, NotSignedIn, TooMany
from api.domain.people import Action, Person, Role, require
from api.domain.records import CredentialKind, OfficeSession
from api.domain.secrets import LONGEST_PASSWORD, check_password, check_pin
from api.use_cases import credentials, sessions
from api.use_cases.ports import Means, UnitOfWork


@dataclass(frozen=True, slots=True)
class SignedIn:
    token: str
    person: Person
    expires_at: dt.datetime


@dataclass(frozen=True, slots=True)
class CrewMember:
    badge: str
    role: Role
    active: bool
    has_pin: bool
    has_password: bool
    locked_until: dt.datetime | None


def sign_in(uow: UnitOfWork, means: Means, badge: str, password: str, before: str = "") -> SignedIn:
    """Opens an office session; a wrong badge and a wrong password answer alike.

    The browser's session of `before` ends: nobody goes on under a token from before signing in.
    """
    with uow:
        uow.sessions.end_expired(means.clock.now())
        person = _checked(uow, means, badge, password)
        if person is None:
            uow.commit()
            raise NotSignedIn("Badge and password do not fit. Check both and try again.")
        uow.sessions.end(means.tokens.digest(before))
        token, session = sessions.begin(uow, means, person)
        uow.commit()
    return SignedIn(token, person, session.expires_at)


def confirm(uow: UnitOfWork, means: Means, by: Person, password: str) -> None:
    """That it is really `by` who sits there; wrong passwords count as at signing in."""
    with uow:
        fits = _checked(uow, means, by.badge, password) is not None
        uow.commit()
    if not fits:
        raise BadInput(
            "This is not your password. Enter the one you signed in with.", field="your_password"
        )


def sign_out(uow: UnitOfWork, means: Means, token: str) -> None:
    with uow:
        uow.sessions.end(means.tokens.digest(token))
        uow.commit()


def who(uow: UnitOfWork, means: Means, token: str | None) -> Person | None:
    """The active person behind a session's token, if it still holds."""
    seat = sessions.seat(uow, means, token)
    return None if seat is None else seat.person


def open_sessions(uow: UnitOfWork, means: Means, badge: str) -> list[OfficeSession]:
    now = means.clock.now()
    with uow:
        return [one for one in uow.sessions.of(badge) if sessions.holds(one, now)]


def end_sessions(
    uow: UnitOfWork, means: Means, badge: str, by: Person, *, but: str | None = None
) -> None:
    """Signs a person out everywhere; `but` is the token of the session that stays."""
    with uow:
        _require_over(uow, badge, by)
        kept = None if but is None else means.tokens.digest(but)
        for session in uow.sessions.of(badge):
            if session.digest != kept:
                uow.sessions.end(session.digest)
        uow.commit()


def list_people(uow: UnitOfWork) -> list[CrewMember]:
    with uow:
        people, secrets = uow.people.all(), uow.people.credentials()
    kinds = {(one.badge, one.kind): one for one in secrets}
    return [
        CrewMember(
            person.badge,
            person.role,
            person.active,
            (person.badge, "pin") in kinds,
            (person.badge, "password") in kinds,
            max(
                (
                    one.locked_until
                    for one in secrets
                    if one.badge == person.badge and one.locked_until
                ),
                default=None,
            ),
        )
        for person in people
    ]


def save_person(uow: UnitOfWork, means: Means, person: Person, by: Person) -> Person:
    """Adds or changes a person. Only an owner makes, changes or unmakes an owner.

    Whose role or state changes signs in anew.
    """
    require(by, Action.EDIT_CREW)
    with uow:
        uow.events.lock()  # first, so that two changes at once come one after the other
        uow.shop.bump()
        before = uow.people.get(person.badge)
        _guard_owner(by, before, person)
        uow.people.save(person)
        _guard_last_owner(uow, before)
        if person != before:
            uow.sessions.end_all_of(person.badge)
            told = person.model_dump(mode="json")
            uow.journal.add("person", person.badge, told, means.clock.now(), by.badge)
        uow.commit()
    return person


def set_pin(uow: UnitOfWork, means: Means, badge: str, pin: str, by: Person) -> None:
    with uow:
        uow.events.lock()
        _require_over(uow, badge, by)
        check_pin(pin, badge)
        credentials.set_secret(uow, means, badge, "pin", pin)
        _tell_of_secret(uow, means, badge, "pin", by)
        uow.commit()


def set_password(uow: UnitOfWork, means: Means, badge: str, password: str, by: Person) -> None:
    """Sets the office password and ends the person's open sessions."""
    with uow:
        uow.events.lock()
        _require_over(uow, badge, by)
        check_password(password, badge)
        credentials.set_secret(uow, means, badge, "password", password)
        _tell_of_secret(uow, means, badge, "password", by)
        uow.sessions.end_all_of(badge)
        uow.commit()


def _tell_of_secret(
    uow: UnitOfWork, means: Means, badge: str, kind: CredentialKind, by: Person
) -> None:
    """That it was set, never what it is."""
    told = {"badge": badge, "kind": kind}
    uow.journal.add("secret", badge, told, means.clock.now(), by.badge)


def _checked(uow: UnitOfWork, means: Means, badge: str, password: str) -> Person | None:
    person = uow.people.get(badge) if badge.isprintable() else None
    credential = uow.people.credential(badge, "password", to_change=True) if person else None
    if person is None or credential is None:
        means.pins.hash(
            password[:LONGEST_PASSWORD]
        )  # the same time passes for a badge that does not exist
        return None
    now = means.clock.now()
    wait = credentials.locked_for(credential, now)
    if wait is not None:
        seconds = int(wait.total_seconds()) + 1
        raise TooMany(
            f"Too many wrong tries for this badge. Wait {seconds} s, then try again.",
            retry_after_s=seconds,
        )
    # A longer one is none: whoever sends it pays with a try, not the server with its hashing.
    fits = credentials.compare(uow, means, credential, password[: LONGEST_PASSWORD + 1])
    return person if fits and person.active else None


def _guard_owner(by: Person, before: Person | None, after: Person) -> None:
    if by.badge == after.badge and (before is None or before != after):
        raise Clash("You cannot change your own role or state. Another owner or lead has to.")
    touches_owner = Role.OWNER in (after.role, before.role if before else after.role)
    if touches_owner:
        _only_owner(by)


def _guard_last_owner(uow: UnitOfWork, before: Person | None) -> None:
    if before is None or before.role is not Role.OWNER:
        return
    if not any(one.role is Role.OWNER and one.active for one in uow.people.all()):
        raise Clash("This is the last active owner; make another person owner first.")


def _require_over(uow: UnitOfWork, badge: str, by: Person) -> None:
    person = uow.people.get(badge)
    if person is None:
        raise NotFound(f"There is no badge {badge!r} in the crew.", badge=badge)
    if badge != by.badge:
        require(by, Action.EDIT_CREW)
        if person.role is Role.OWNER:
            _only_owner(by)


def _only_owner(by: Person) -> None:
    if by.role is not Role.OWNER:
        require(by.model_copy(update={"active": False}), Action.EDIT_CREW)
