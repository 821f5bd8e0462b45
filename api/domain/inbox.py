"""What waits for a lead: kinds of items, how bad each is, their order, and how a decision reads."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal, get_args

from api.domain.records import JournalEntry

ItemKind = Literal[
    "forked",
    "other-chain",
    "two-answers",
    "refused",
    "late",
    "set-aside",
    "gap",
    "waiting",
    "clock",
    "silent",
    "marked",
]
Grade = Literal["now", "soon", "look"]
Decision = Literal["dealt with", "accepted", "chosen", "open again"]

KINDS: tuple[ItemKind, ...] = get_args(ItemKind)
"""Worst first."""
GRADES: dict[ItemKind, Grade] = {
    "forked": "now",
    "other-chain": "now",
    "two-answers": "now",
    "refused": "soon",
    "late": "soon",
    "set-aside": "soon",
    "gap": "soon",
    "waiting": "soon",
    "clock": "look",
    "silent": "look",
    "marked": "look",
}
SHORTEST_REASON, LONGEST_REASON = 3, 500

PROVISIONAL_LONG = dt.timedelta(hours=24)
SILENT_AT_WORK = dt.timedelta(hours=12)
SILENT_OTHERWISE = dt.timedelta(days=7)
GAP_STANDS = dt.timedelta(minutes=10)
OWN_ITEM = frozenset({"two answers", "after signature", "gap", "clock suspect", "tablet forked"})
"""Marks of records that have a kind of item to themselves."""


@dataclass(frozen=True, slots=True)
class Where:
    """What an item is about, as far as it is known; `seq` is the record's number."""

    setup: str | None = None
    plate: str | None = None
    step: str | None = None
    person: str | None = None
    tablet: str | None = None
    seq: int | None = None


@dataclass(frozen=True, slots=True)
class Item:
    """One thing to settle; `key` changes when there is something new to decide."""

    kind: ItemKind
    key: str
    since: dt.datetime
    where: Where = Where()
    facts: dict[str, Any] = field(default_factory=dict)

    @property
    def subject(self) -> str:
        return subject_of(self.kind, self.key)

    @property
    def grade(self) -> Grade:
        return GRADES[self.kind]


@dataclass(frozen=True, slots=True)
class Settlement:
    """What somebody decided about an item; the last one of a subject holds."""

    kind: ItemKind
    key: str
    decision: Decision
    reason: str
    by: str
    at: dt.datetime
    seq: int
    keep: str | None = None

    @property
    def settles(self) -> bool:
        return self.decision != "open again"


def subject_of(kind: ItemKind, key: str) -> str:
    return f"{kind}:{key}"


def settlement_of(entry: JournalEntry, body: dict[str, Any]) -> Settlement | None:
    """The decision in a journal entry; None for one about something this build does not know."""
    kind, _, key = entry.subject.partition(":")
    if kind not in KINDS:
        return None
    keep = body.get("keep")
    return Settlement(
        kind,
        key,
        body.get("decision", "dealt with"),
        str(body.get("reason", "")),
        entry.by or "",
        entry.at,
        entry.seq,
        None if keep is None else str(keep),
    )


def last_of_each(settlements: Iterable[Settlement]) -> dict[str, Settlement]:
    """By subject; `settlements` come in the order in which they were made."""
    return {subject_of(one.kind, one.key): one for one in settlements}


def in_order(items: Iterable[Item]) -> list[Item]:
    """Worst first, and of one kind the oldest."""
    return sorted(items, key=lambda one: (KINDS.index(one.kind), one.since, one.key))


def missing_ranges(after: int, numbers: Sequence[int]) -> list[tuple[int, int]]:
    """The numbers that lie between `after` and the last of `numbers` without being among them."""
    found: list[tuple[int, int]] = []
    for n in numbers:
        if n > after + 1:
            found.append((after + 1, n - 1))
        after = max(after, n)
    return found


def silent_after(*, at_work: bool) -> dt.timedelta:
    """How long a tablet may stay away before somebody should look for it."""
    return SILENT_AT_WORK if at_work else SILENT_OTHERWISE
