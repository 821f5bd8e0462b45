"""Whether what was written down still fits together; pure, so that an export can be asked too."""

from __future__ import annotations

import json
from collections.abc import Iterable

from api.domain.chain import NO_PREVIOUS, entry_chain, event_chain, text_hash
from api.domain.records import JournalEntry, StoredEvent

CHAIN_FLAG = "chain broken"
Written = StoredEvent | JournalEntry


def first_fault(rows: Iterable[Written]) -> tuple[str, int]:
    """What is wrong with the first row that does not fit (empty if all do), and how many fit.

    `rows` are events and journal entries in the order of `seq`.
    """
    chain, count, seen = NO_PREVIOUS, 0, Seen()
    for row in rows:
        fault = _fault(row, chain, seen)
        if fault:
            return fault, count
        chain = row.chain
        count += 1
    return "", count


def name_of(row: Written) -> str:
    if isinstance(row, StoredEvent):
        return f"event {row.seq} ({row.id})"
    return f"journal entry {row.seq} ({row.kind})"


def _fault(row: Written, previous: str, seen: Seen) -> str:
    name = name_of(row)
    if isinstance(row, JournalEntry):
        if text_hash(row.body) != row.hash:
            return f"{name} was altered: its text does not fit its hash"
        if entry_chain(previous, row) != row.chain:
            return f"{name} does not follow what was written before it"
        return ""
    if text_hash(row.text) != row.hash:
        return f"{name} was altered: its text does not fit its hash"
    if event_chain(previous, row) != row.chain:
        return f"{name} does not follow what was written before it"
    if not seen.follows(row) and CHAIN_FLAG not in row.flags:
        return f"{name} does not fit the other events of its tablet"
    return ""


class Seen:
    """Hashes of the tablets' own chains, in whatever order their events arrived."""

    def __init__(self) -> None:
        self._hash: dict[tuple[str, int], str] = {}
        self._prev: dict[tuple[str, int], str] = {}

    def follows(self, event: StoredEvent) -> bool:
        """Whether the event fits its neighbours that were seen; it is seen from now on."""
        prev = json.loads(event.text)["prev"]
        before = NO_PREVIOUS if event.n == 1 else self._hash.get((event.tablet, event.n - 1), prev)
        after = self._prev.get((event.tablet, event.n + 1), event.hash)
        self._hash[event.tablet, event.n] = event.hash
        self._prev[event.tablet, event.n] = prev
        return before == prev and after == event.hash
