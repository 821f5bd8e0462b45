"""What cannot be taken as a record is kept whole, and said so in the journal."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from dataclasses import replace

from api.domain.records import SetAside, Tablet
from api.use_cases.ports import UnitOfWork


def keep(
    uow: UnitOfWork, text: object, sig: str | None, reason: str, sender: str, now: dt.datetime
) -> None:
    """Once, however often it is sent."""
    whole = _whole(text)
    escaped = "\0" in whole or any("\ud800" <= char <= "\udfff" for char in whole)
    item = SetAside(
        id=0,
        hash=fingerprint(text),
        text=json.dumps(whole) if escaped else whole,
        escaped=escaped,
        reason=reason,
        tablet=sender,
        received_at=now,
        sig=sig,
    )
    if uow.events.set_aside(item):
        told = {"reason": reason, "tablet": sender}
        uow.journal.add("set aside", item.hash, told, now)


def fingerprint(text: object) -> str:
    """By which what was set aside is found again."""
    return hashlib.sha256(_whole(text).encode(errors="surrogatepass")).hexdigest()


def _whole(text: object) -> str:
    return text if isinstance(text, str) else json.dumps(text)


def note_fork(uow: UnitOfWork, tablet: Tablet, n: int, now: dt.datetime) -> None:
    """Two devices write under one name and key: a copy of the tablet is about."""
    if tablet.forked_at is not None:
        return
    uow.tablets.save(replace(tablet, forked_at=now))
    told = {"tablet": tablet.id, "name": tablet.name, "n": n}
    uow.journal.add("tablet forked", tablet.id, told, now)
