"""The shop's keys for PINs: tablets seal to the newest, older ones still open what is on its way."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from api.domain.people import Action, Person, require
from api.use_cases.ports import Means, UnitOfWork


@dataclass(frozen=True, slots=True)
class SealingKey:
    """`since` and `by` are missing while the shop has its first key."""

    id: str
    since: dt.datetime | None
    by: str | None


def sealing_key(uow: UnitOfWork, means: Means) -> SealingKey:
    with uow:
        entry = uow.journal.last("sealing key", means.opener.key_id)
    if entry is None:
        return SealingKey(means.opener.key_id, None, None)
    return SealingKey(entry.subject, entry.at, entry.by)


def rotate_sealing_key(uow: UnitOfWork, means: Means, by: Person) -> str:
    """A new key; it can open before anyone hears of it, and is used once that is written down."""
    require(by, Action.ROTATE_KEY)
    before = means.opener.key_id
    with uow:
        uow.events.lock()
        fresh = means.opener.make()
        told = {"key": fresh, "before": before}
        uow.journal.add("sealing key", fresh, told, means.clock.now(), by.badge)
        uow.commit()
    means.opener.use(fresh)
    return fresh
