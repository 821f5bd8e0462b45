"""What others did: events after a number, and every verdict that may have changed."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from api.domain.errors import BadInput
from api.domain.records import StoredEvent, StoredSignature
from api.use_cases.ports import Means, UnitOfWork

MOST = 1000


@dataclass(frozen=True, slots=True)
class Pulled:
    """`upto` is the number to ask after next; `more` says that asking at once is worth it."""

    epoch: str
    head: int
    upto: int
    more: bool
    time: dt.datetime
    events: list[StoredEvent]
    signatures: list[StoredSignature]


def pull(uow: UnitOfWork, means: Means, after: int, limit: int = 500) -> Pulled:
    """Events numbered above `after`, with the verdicts of their setups and newer ones."""
    if not 1 <= limit <= MOST:
        raise BadInput(f"limit must lie between 1 and {MOST}.", field="limit")
    with uow:
        meta, head = uow.shop.meta(), uow.events.head()
        found = uow.events.after(after, limit + 1)
        events, more = found[:limit], len(found) > limit
        upto = events[-1].seq if more else head
        signatures = {one.event: one for one in uow.signatures.after(after, upto)}
        for one in uow.signatures.of_setups({event.setup for event in events}):
            signatures[one.event] = one
    ordered = sorted(signatures.values(), key=lambda one: one.seq)
    return Pulled(meta.epoch, head, upto, more, means.clock.now(), events, ordered)


def head(uow: UnitOfWork) -> int:
    """The highest number given to a record or a verdict."""
    with uow:
        return uow.events.head()
