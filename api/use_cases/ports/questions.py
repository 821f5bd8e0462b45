"""What is in doubt, as the lead's list asks for it; every call belongs to the open transaction."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Protocol

from api.domain.records import (
    JournalEntry,
    Page,
    SetAside,
    SetupSummary,
    StoredSignature,
)


@dataclass(frozen=True, slots=True)
class Doubtful:
    """A signature that does not stand, with the record it was made by.

    `seq` and `n` are the record's; the verdict's number is in `signature`.
    """

    signature: StoredSignature
    seq: int
    n: int
    tablet: str
    kind: str
    at: dt.datetime
    received_at: dt.datetime


@dataclass(frozen=True, slots=True)
class Marked:
    """A record with marks, without what it says."""

    seq: int
    id: str
    setup: str
    step: str | None
    person: str | None
    tablet: str
    received_at: dt.datetime
    flags: tuple[str, ...]


class Questions(Protocol):
    def doubtful(self) -> list[Doubtful]:
        """Refused without a later one that was confirmed, and provisional ones; oldest first."""
        ...

    def asides(self) -> list[SetAside]:
        """Everything set aside, oldest first, without the texts themselves."""
        ...

    def aside(self, text_hash: str) -> SetAside | None:
        """One of them, whole."""
        ...

    def flagged(self) -> list[SetupSummary]:
        """Setups with a mark on any of their records."""
        ...

    def at_work(self) -> dict[str, str]:
        """By tablet: a setup in which it wrote the last record, and which is not signed yet."""
        ...

    def chains(self, seqs: Iterable[int]) -> dict[int, str]:
        """The chain values of these events, by their numbers."""
        ...

    def marked(self, setups: Iterable[str]) -> list[Marked]:
        """The marked records of these setups, in order."""
        ...

    def numbers(self, tablet: str, after: int, limit: int) -> dict[int, dt.datetime]:
        """What has arrived beyond this number of the tablet's, with the time of its arrival."""
        ...

    def plates(self, setups: Iterable[str]) -> Mapping[str, str]:
        """The plates of these setups, where their opening records have arrived."""
        ...

    def decided(self, page: int, per_page: int) -> Page[JournalEntry]:
        """Decisions about items, newest first."""
        ...
