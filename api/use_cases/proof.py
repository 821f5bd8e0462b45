"""Everything the server wrote down, in its one order."""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

from api.domain.proof import Written
from api.domain.records import JournalEntry, StoredEvent
from api.use_cases.ports import UnitOfWork

PER_READ = 500
Row = TypeVar("Row", StoredEvent, JournalEntry)


def written(uow: UnitOfWork) -> Iterator[Written]:
    """Events and journal entries in the order of `seq`; the caller has begun the transaction."""
    events: Iterator[Written] = _all(uow.events.after)
    entries: Iterator[Written] = _all(uow.journal.after)
    yield from heapq.merge(events, entries, key=lambda row: row.seq)


def _all(after: Callable[[int, int], Sequence[Row]]) -> Iterator[Row]:
    seq = 0
    while batch := after(seq, PER_READ):
        yield from batch
        seq = batch[-1].seq
