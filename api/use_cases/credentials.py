"""Comparing PINs and passwords, with a lock that grows after five wrong tries."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

from api.domain.people import Badge
from api.domain.records import Credential, CredentialKind
from api.use_cases.ports import Means, UnitOfWork

FREE_TRIES = 5
FIRST_LOCK_S = 30
LONGEST_LOCK_S = 3600


def locked_for(credential: Credential, now: dt.datetime) -> dt.timedelta | None:
    """How much longer nothing is compared against this secret; None when it is not locked."""
    until = credential.locked_until
    return until - now if until is not None and until > now else None


def compare(uow: UnitOfWork, means: Means, credential: Credential, secret: str) -> bool:
    """Whether the secret fits; a wrong one counts. The caller commits."""
    if means.pins.verify(secret, credential.hash):
        if credential.tries:
            uow.people.save_credential(replace(credential, tries=0, locked_until=None))
        return True
    uow.people.save_credential(_after_wrong_try(credential, means.clock.now()))
    return False


def set_secret(
    uow: UnitOfWork, means: Means, badge: Badge, kind: CredentialKind, secret: str
) -> None:
    uow.people.save_credential(Credential(badge, kind, means.pins.hash(secret)))


def _after_wrong_try(credential: Credential, now: dt.datetime) -> Credential:
    tries = credential.tries + 1
    if tries < FREE_TRIES:
        return replace(credential, tries=tries)
    delay_s = min(FIRST_LOCK_S * 2 ** min(tries - FREE_TRIES, 20), LONGEST_LOCK_S)
    return replace(credential, tries=tries, locked_until=now + dt.timedelta(seconds=delay_s))
