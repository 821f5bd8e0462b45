"""What a push is answered with beside its results: the newest checkpoint, and how the tablet stands."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import dataclass
from typing import Any

from api.domain.chain import NO_PREVIOUS
from api.domain.records import JournalEntry, StoredEvent
from api.use_cases.ports import UnitOfWork


@dataclass(frozen=True, slots=True)
class Seen:
    """The last checkpoint that a tablet knows; without an epoch it means the present one."""

    seq: int
    chain: str
    epoch: str | None = None


def newest_checkpoint(uow: UnitOfWork) -> dict[str, Any] | None:
    entry = uow.journal.last("checkpoint")
    return None if entry is None else dict(json.loads(entry.body))


def compare(uow: UnitOfWork, tablet: str, seen: Seen, now: dt.datetime) -> None:
    """A checkpoint that is not part of this chain says that history was written anew."""
    if seen.epoch not in (None, uow.shop.meta().epoch):
        return
    here = chain_at(uow, seen.seq)
    subject = f"{tablet}/{seen.seq}"
    if here == seen.chain or uow.journal.last("tablet saw another chain", subject):
        return
    told = {"tablet": tablet, "seq": seen.seq, "saw": seen.chain, "here": here}
    uow.journal.add("tablet saw another chain", subject, told, now)


def chain_at(uow: UnitOfWork, seq: int) -> str | None:
    """The chain value of whatever was given this number; a new shop's first checkpoint says 0."""
    if seq == 0:
        return NO_PREVIOUS
    rows: list[StoredEvent | JournalEntry] = [
        *uow.events.after(seq - 1, 1),
        *uow.journal.after(seq - 1, 1),
    ]
    return next((row.chain for row in rows if row.seq == seq), None)
