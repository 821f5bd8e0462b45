"""Tablets: let in by a one-time code, known by a key of their own, and sent away by a lead."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import dataclass, replace
from typing import Literal

from api.domain.errors import BadInput, Clash, NotAllowed, NotFound, NotSignedIn
from api.domain.people import Action, Person, require
from api.domain.records import EnrolCode, Tablet, TabletSession
from api.use_cases.ports import Means, UnitOfWork

ALPHABET = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
CODE_LENGTH = 10
CODE_HOLDS = dt.timedelta(minutes=10)
SESSION = dt.timedelta(hours=12)
LONGEST_NAME = 40
SHORTEST_REASON, LONGEST_REASON = 3, 500
TabletState = Literal["in use", "revoked", "forked"]


@dataclass(frozen=True, slots=True)
class MadeCode:
    """`code` is shown this once, as `XXXXX-XXXXX`."""

    code: str
    name: str
    expires_at: dt.datetime


@dataclass(frozen=True, slots=True)
class Enrolled:
    tablet: str
    name: str
    epoch: str


@dataclass(frozen=True, slots=True)
class Admitted:
    """A tablet's session; its token goes into a cookie, only the digest is kept."""

    token: str
    expires_at: dt.datetime


@dataclass(frozen=True, slots=True)
class KnownTablet:
    """A tablet as the crew's screen lists it; `reason` is why it was revoked."""

    tablet: Tablet
    state: Literal["in use", "revoked", "forked", "not enrolled"]
    reason: str | None = None


def make_code(uow: UnitOfWork, means: Means, name: str, by: Person) -> MadeCode:
    """A code with which one tablet may enrol, within ten minutes, under this name."""
    require(by, Action.ENROL_TABLET)
    name, now = _named(name), means.clock.now()
    plain = _random_code(means)
    expires_at = now + CODE_HOLDS
    with uow:
        uow.tablets.end_codes(now)
        digest = means.tokens.digest(plain)
        uow.tablets.add_code(EnrolCode(digest, name, by.badge, now, expires_at))
        uow.commit()
    half = CODE_LENGTH // 2
    return MadeCode(f"{plain[:half]}-{plain[half:]}", name, expires_at)


def enrol(
    uow: UnitOfWork, means: Means, code: str, tablet: str, key: str, proof: str, build: str
) -> Enrolled:
    """Takes the key as the tablet's own, for good; asking twice with one key answers alike.

    Raises `NotAllowed` (`proof-wrong`, `code-unknown`) and `Clash` (`tablet-known`); only an
    enrolment uses the code up.
    """
    plain, now = plain_code(code), means.clock.now()
    if not means.tablet_keys.signed(key, enrol_text(plain, tablet), proof):
        raise NotAllowed(
            "The proof is no signature of the code and the tablet's name by this key.",
            code="proof-wrong",
        )
    with uow:
        uow.events.lock()
        known = uow.tablets.get(tablet)
        if known is None or known.key != key or state_of(known) != "in use":
            used = uow.tablets.use_code(means.tokens.digest(plain), now)
            if used is None:
                raise NotAllowed(
                    "This code is wrong, used or older than ten minutes. A lead makes a new one.",
                    code="code-unknown",
                )
            known = _let_in(uow, used, tablet, key, build, now)
        epoch = uow.shop.meta().epoch
        uow.commit()
    return Enrolled(tablet, known.name, epoch)


def challenge(means: Means, tablet: str) -> str:
    """Something to sign; any name is answered alike."""
    return means.tablet_keys.nonce(tablet)


def open_session(uow: UnitOfWork, means: Means, tablet: str, nonce: str, proof: str) -> Admitted:
    """For twelve hours, to who signed the nonce with this tablet's key."""
    now = means.clock.now()
    with uow:
        known = uow.tablets.get(tablet)
        key = known.key if known else None
        signed = key is not None and means.tablet_keys.signed(
            key, session_text(nonce, tablet), proof
        )
        if not signed or not means.tablet_keys.use_nonce(nonce, tablet):
            raise not_enrolled()
        token, expires_at = means.tokens.new(), now + SESSION
        uow.tablets.end_sessions(until=now)
        digest = means.tokens.digest(token)
        uow.tablets.open_session(TabletSession(digest, tablet, now, expires_at))
        uow.commit()
    return Admitted(token, expires_at)


def who(uow: UnitOfWork, means: Means, token: str | None) -> Tablet | None:
    """The tablet behind a session's token, if it still holds; it may be revoked."""
    if not token:
        return None
    with uow:
        session = uow.tablets.session(means.tokens.digest(token))
        if session is None or session.expires_at <= means.clock.now():
            return None
        return uow.tablets.get(session.tablet)


def revoke(uow: UnitOfWork, means: Means, tablet: str, reason: str, by: Person) -> None:
    """What it sends from now on is kept and marked, and its signatures are refused."""
    require(by, Action.ENROL_TABLET)
    reason = " ".join(reason.split())
    if not SHORTEST_REASON <= len(reason) <= LONGEST_REASON:
        raise BadInput(
            f"Give the reason in {SHORTEST_REASON} to {LONGEST_REASON} characters.", field="reason"
        )
    with uow:
        uow.events.lock()
        known, now = _get(uow, tablet), means.clock.now()
        if known.revoked_at is not None:
            raise Clash(f"{known.name or tablet} is revoked already.")
        uow.tablets.save(replace(known, revoked_at=now, revoked_by=by.badge))
        uow.tablets.end_sessions(of=tablet)
        told = {"tablet": tablet, "name": known.name, "reason": reason}
        uow.journal.add("tablet revoked", tablet, told, now, by.badge)
        uow.commit()


def rename(uow: UnitOfWork, tablet: str, name: str, by: Person) -> None:
    require(by, Action.ENROL_TABLET)
    name = _named(name)
    with uow:
        uow.events.lock()
        uow.tablets.save(replace(_get(uow, tablet), name=name))
        uow.commit()


def list_tablets(uow: UnitOfWork, by: Person) -> list[KnownTablet]:
    """Those in use first, by name."""
    require(by, Action.READ)
    with uow:
        tablets, entries = uow.tablets.all(), uow.journal.of_kind("tablet revoked")
    reasons = {one.subject: str(json.loads(one.body)["reason"]) for one in entries}
    found = [
        KnownTablet(one, state_of(one) if one.key else "not enrolled", reasons.get(one.id))
        for one in tablets
    ]
    return sorted(found, key=lambda one: (one.state != "in use", one.tablet.name, one.tablet.id))


def state_of(tablet: Tablet) -> TabletState:
    if tablet.revoked_at is not None:
        return "revoked"
    return "forked" if tablet.forked_at is not None else "in use"


def plain_code(code: str) -> str:
    """As it is signed and hashed: upper case, without the dash."""
    return "".join(code.upper().replace("-", "").split())


def enrol_text(code: str, tablet: str) -> str:
    return f"clampbook-enrol/1 {code} {tablet}"


def session_text(nonce: str, tablet: str) -> str:
    return f"clampbook-session/1 {nonce} {tablet}"


def not_enrolled() -> NotSignedIn:
    return NotSignedIn(
        "This tablet is not enrolled here, or its session has ended. A lead adds it under Crew.",
        code="not-enrolled",
    )


def _let_in(
    uow: UnitOfWork, code: EnrolCode, tablet: str, key: str, build: str, now: dt.datetime
) -> Tablet:
    """A tablet without a key is from before tablets had any; its records go on."""
    known = uow.tablets.get(tablet)
    if known is not None and (known.key is not None or state_of(known) != "in use"):
        raise Clash(
            "A tablet of this name is known here already; this one needs a new name.",
            code="tablet-known",
        )
    fresh = replace(
        known or Tablet(tablet, now, now, build, contiguous=0, highest=0),
        name=code.name,
        key=key,
        enrolled_at=now,
        enrolled_by=code.made_by,
        last_seen=now,
        build=build,
    )
    uow.tablets.save(fresh)
    told = {"tablet": tablet, "name": code.name, "key": key, "code made by": code.made_by}
    uow.journal.add("tablet enrolled", tablet, told, now, code.made_by)
    return fresh


def _get(uow: UnitOfWork, tablet: str) -> Tablet:
    known = uow.tablets.get(tablet)
    if known is None:
        raise NotFound(f"There is no tablet '{tablet[:64]}'.", tablet=tablet[:64])
    return known


def _named(name: str) -> str:
    name = " ".join(name.split())
    if not 1 <= len(name) <= LONGEST_NAME or not name.isprintable():
        raise BadInput(f"Name the tablet in 1 to {LONGEST_NAME} characters.", field="name")
    return name


def _random_code(means: Means) -> str:
    """Ten letters of about 49 random bits; the digest's 256 make the remainder even enough."""
    number, letters = int(means.tokens.digest(means.tokens.new()), 16), ""
    for _ in range(CODE_LENGTH):
        number, place = divmod(number, len(ALPHABET))
        letters += ALPHABET[place]
    return letters
