"""Everything the server wrote down, in its one order."""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

from api.domain.proof import Fault, Written
from api.domain.records import JournalEntry, StoredEvent
from api.use_cases.ports import UnitOfWork
from api.use_cases.records import folding, projecting

PER_READ = 500
REBUILD = "Restore a backup beside this database: its projections are made anew from the records."
Pulls = set[tuple[str, str, int]]
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


def check_projections(uow: UnitOfWork, pulls: Pulls) -> int:
    """Folds every setup anew and compares it with the rows that lists are made from.

    `pulls` are the rows (setup, tool, pulls) as they are. Returns how many setups there are;
    raises `Fault` at the first that differs. The caller has begun the transaction.
    """
    steps_of = folding.steps_from(uow)
    rebuilt_pulls: Pulls = set()
    shown = readings = 0
    for setup in uow.events.setups():
        folded = folding.load(uow, setup, steps_of)
        summary = projecting.summary_of(folded)
        if uow.setups.get(setup) != summary:
            raise Fault(f"Setup {setup}", "is listed otherwise than its records say", REBUILD)
        if summary is None:
            continue
        shown += 1
        wanted = sorted(projecting.readings_of(folded), key=lambda one: one.event)
        here = sorted(uow.setups.readings_of([setup]), key=lambda one: one.event)
        if here != wanted:
            raise Fault(f"Setup {setup}", "has other readings than its records say", REBUILD)
        readings += len(here)
        rebuilt_pulls |= {(setup, *one) for one in projecting.pulls_of(folded).items()}
    odd = rebuilt_pulls ^ pulls
    if odd:
        setup, tool, _ = min(odd)
        raise Fault(f"Setup {setup}", f"has other pulls of tool {tool} than its records", REBUILD)
    if (len(uow.setups.all()), len(uow.setups.readings())) != (shown, readings):
        raise Fault("The lists", "hold setups or readings that no record speaks of", REBUILD)
    return shown


def project_all(uow: UnitOfWork) -> None:
    """Makes the projections of a log that was put in as it is; the caller commits."""
    steps_of = folding.steps_from(uow)
    for setup in uow.events.setups():
        projecting.save(uow, folding.load(uow, setup, steps_of))
