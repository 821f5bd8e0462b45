"""Each row by itself and after the one before it: its text, its columns, its link."""

from __future__ import annotations

import json
from collections.abc import Iterable

from api.domain.chain import NO_PREVIOUS, OLD_FORM, entry_chain, event_chain, text_hash
from api.domain.errors import EventError
from api.domain.events import at_utc, parse
from api.domain.proof.faults import Fault
from api.domain.proof.tablets import Runs
from api.domain.records import JournalEntry, StoredEvent

CHAIN_FLAG = "chain broken"
COLUMNS = ("id", "tablet", "n", "setup", "kind", "step", "person")
Written = StoredEvent | JournalEntry


def first_fault(rows: Iterable[Written]) -> tuple[str, int]:
    """What is wrong with the first row that does not fit (empty if all do), and how many fit.

    `rows` are events and journal entries in the order of `seq`. Looks at hashes and chains only.
    """
    chain, runs = Chain(), Runs()
    try:
        for row in rows:
            chain.check(row)
            if isinstance(row, StoredEvent):
                check_own_chain(row, runs)
            chain.move_to(row)
    except Fault as fault:
        return str(fault), chain.count
    return "", chain.count


class Chain:
    """How far the rows have been followed."""

    def __init__(self) -> None:
        self.seq, self.head, self.count = 0, NO_PREVIOUS, 0
        self.first_new = 0

    def check(self, row: Written) -> None:
        """The row's own hash, and its link to the row before."""
        written = row.body if isinstance(row, JournalEntry) else row.text
        if text_hash(written) != row.hash:
            raise Fault(name_of(row), "was altered: its text does not fit its hash")
        if link_of(self.head, row) != row.chain:
            raise Fault(name_of(row), "does not follow what was written before it")

    def check_order(self, row: Written) -> None:
        """Numbers go up by one; before the journal, verdicts took numbers and left no row."""
        old = isinstance(row, StoredEvent) and row.form == OLD_FORM
        if old and self.first_new:
            raise Fault(name_of(row), "claims to be older than a row before it")
        if row.seq <= self.seq or (self.first_new and row.seq != self.seq + 1):
            raise Fault(name_of(row), f"comes after number {self.seq}: a number is missing")

    def move_to(self, row: Written) -> None:
        self.seq, self.head = row.seq, row.chain
        self.count += 1
        if not self.first_new and (isinstance(row, JournalEntry) or row.form != OLD_FORM):
            self.first_new = row.seq


def name_of(row: Written) -> str:
    if isinstance(row, StoredEvent):
        return f"event {row.seq} ({row.id})"
    return f"journal entry {row.seq} ({row.kind})"


def link_of(previous: str, row: Written) -> str:
    return (
        event_chain(previous, row) if isinstance(row, StoredEvent) else entry_chain(previous, row)
    )


def check_own_chain(event: StoredEvent, runs: Runs) -> None:
    """A break that was seen when the event came is marked on it, and is no fault."""
    if runs.has(event.tablet, event.n):
        raise Fault(name_of(event), f"is number {event.n} of its tablet a second time")
    fits = runs.add(event.tablet, event.n, str(json.loads(event.text)["prev"]), event.hash)
    if not fits and CHAIN_FLAG not in event.flags:
        raise Fault(name_of(event), "does not fit the other events of its tablet")


def check_columns(event: StoredEvent) -> None:
    """The columns that lists and searches use say what the text says."""
    try:
        told = parse(event.text)
    except EventError as problem:
        raise Fault(name_of(event), f"holds no event: {problem.message}") from None
    wrong = [name for name in COLUMNS if getattr(told, name) != getattr(event, name)]
    if at_utc(told) != event.at:
        wrong.append("at")
    if wrong:
        raise Fault(name_of(event), f"was altered: its column '{wrong[0]}' differs from its text")
