"""Follows a whole shop line by line, live or from a dump, and stops at the first thing wrong."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, cast

from api.domain.chain import OLD_FORM
from api.domain.checkpoints import Checkpoint
from api.domain.events import signed_text
from api.domain.proof.faults import Fault
from api.domain.proof.kept import Kept
from api.domain.proof.rows import Chain, check_columns, check_own_chain, name_of
from api.domain.proof.tablets import Runs
from api.domain.proof.witnesses import Signed, Witnesses
from api.domain.records import JournalEntry, JournalKind, StoredEvent

Line = Mapping[str, Any]
TabletSigned = Callable[[str, str, str], bool]
"""(public key, text, signature): whether the tablet's key signed the text."""


@dataclass
class Findings:
    """What a shop that fits together consists of; `earlier` are checkpoints given up by a restore."""

    events: int = 0
    entries: int = 0
    tablets: int = 0
    gaps: list[tuple[str, int, int]] = field(default_factory=list)
    met: int = 0
    outside: bool = False
    newest: Checkpoint | None = None
    earlier: list[Checkpoint] = field(default_factory=list)
    before_journal: int = 0


class Examination:
    """`take` every line of `api.storage.rows` in its order, then `finish`; both raise `Fault`."""

    def __init__(
        self, tablet_signed: TabletSigned, signed: Signed, outside: list[Checkpoint] | None
    ) -> None:
        self._tablet_signed = tablet_signed
        self._chain, self._runs = Chain(), Runs()
        self._witnesses = Witnesses(signed, outside)
        self._kept = Kept()
        self._shop: Line = {}
        self._found = Findings(outside=outside is not None)

    def take(self, line: Line) -> None:
        match line["line"]:
            case "shop":
                self._shop = line
            case "tablet":
                self._kept.tablet(line)
            case "event":
                self._event(event_of(line), line["outcome"])
            case "entry":
                self._entry(entry_of(line))
            case "signature":
                self._kept.signature(line)
            case "set aside":
                self._kept.set_aside(line)

    def finish(self) -> Findings:
        """What can only be said once everything was seen."""
        self._kept.finish(self._runs)
        self._witnesses.finish(self._shop["facts"].get("epoch", ""), self._chain)
        self._counters()
        found = self._found
        found.tablets = len(self._kept.tablets)
        found.gaps = list(self._runs.gaps())
        found.met, found.newest = self._witnesses.met, self._witnesses.newest
        found.earlier = self._witnesses.earlier
        found.before_journal = self._kept.before_journal
        return found

    def _event(self, event: StoredEvent, outcome: str) -> None:
        self._chain.check_order(event)
        self._chain.check(event)
        check_columns(event)
        if outcome != "stored":
            raise Fault(name_of(event), f"is marked '{outcome}', and whatever is here was stored")
        if event.form != OLD_FORM:
            self._check_signature(event)
        check_own_chain(event, self._runs)
        self._kept.event(event)
        self._chain.move_to(event)
        self._witnesses.see(self._chain)
        self._found.events += 1

    def _check_signature(self, event: StoredEvent) -> None:
        key = self._kept.keys.get(event.tablet)
        if key is None:
            raise Fault(name_of(event), f"is of tablet {event.tablet}, which was not enrolled then")
        if event.sig is None:
            raise Fault(name_of(event), f"lacks the signature of tablet {event.tablet}")
        if not self._tablet_signed(key, signed_text(event.hash), event.sig):
            raise Fault(name_of(event), f"is not signed by the key of tablet {event.tablet}")

    def _entry(self, entry: JournalEntry) -> None:
        self._chain.check_order(entry)
        self._chain.check(entry)
        self._kept.entry(entry)
        if entry.kind == "checkpoint":
            self._witnesses.checkpoint(entry, self._chain)
        elif entry.kind == "restored":
            self._witnesses.restored(entry, self._chain)
        self._chain.move_to(entry)
        self._witnesses.see(self._chain)
        self._found.entries += 1

    def _counters(self) -> None:
        here = self._shop["counters"].get("seq")
        wanted = max(self._chain.seq, self._kept.last_number)
        if here != wanted:
            raise Fault("The counter of records", f"stands at {here}; the last number is {wanted}")


def event_of(line: Line) -> StoredEvent:
    return StoredEvent(
        **{name: line[name] for name in EVENT_FIELDS},
        at=_moment(line["at"]),
        received_at=_moment(line["received_at"]),
        flags=tuple(line["flags"]),
    )


def entry_of(line: Line) -> JournalEntry:
    return JournalEntry(
        seq=line["seq"],
        kind=cast("JournalKind", line["kind"]),
        subject=line["subject"],
        body=line["body"],
        hash=line["hash"],
        at=_moment(line["at"]),
        by=line["by"],
        chain=line["chain"],
    )


EVENT_FIELDS = (
    "seq",
    "id",
    "tablet",
    "n",
    "setup",
    "kind",
    "step",
    "person",
    "text",
    "hash",
    "chain",
    "sig",
    "form",
)


def _moment(text: str) -> dt.datetime:
    return dt.datetime.fromisoformat(text)
