"""Tables beside the log that must say what the journal says: tablets, verdicts, what was set aside."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any

from api.domain.chain import OLD_FORM, canonical, moment, text_hash
from api.domain.proof.faults import Fault
from api.domain.proof.rows import name_of
from api.domain.proof.tablets import Runs
from api.domain.records import JournalEntry, StoredEvent

SIGNING = frozenset({"signed", "countersigned"})
TOLD = ("setup", "person", "meaning", "verdict", "reason", "sealed")
MARKS = ("tablet enrolled", "tablet revoked", "tablet forked")
MENDED = "Restore a backup beside this database; the records themselves are as they were."
Line = Mapping[str, Any]


class Kept:
    """Tablet lines come before the log, signatures and what was set aside after it."""

    def __init__(self) -> None:
        self.tablets: dict[str, Line] = {}
        self.keys: dict[str, str] = {}
        self.last_number = 0
        self.before_journal = 0
        self._marks: dict[tuple[str, str], str] = {}
        self._verdicts: dict[str, tuple[int, str]] = {}
        self._unverdicted: dict[str, bool] = {}
        self._aside: dict[str, str] = {}
        self._journal_from: str | None = None

    def tablet(self, line: Line) -> None:
        self.tablets[line["id"]] = line

    def event(self, event: StoredEvent) -> None:
        if event.kind in SIGNING:
            self._unverdicted[event.id] = event.form == OLD_FORM

    def entry(self, entry: JournalEntry) -> None:
        body, at = json.loads(entry.body), moment(entry.at)
        self._journal_from = self._journal_from or at
        if entry.kind == "tablet enrolled":
            key = self.keys.setdefault(entry.subject, body["key"])
            if key != body["key"]:
                raise Fault(name_of(entry), f"gives tablet {entry.subject} a second key")
        if entry.kind in MARKS:
            self._marks.setdefault((entry.subject, f"{entry.kind.split()[1]}_at"), at)
        elif entry.kind == "verdict":
            self._verdicts[entry.subject] = (entry.seq, entry.hash)
        elif entry.kind == "set aside":
            self._aside[entry.subject] = entry.hash

    def signature(self, line: Line) -> None:
        name = f"The verdict on signature {line['event']}"
        old = self._unverdicted.pop(line["event"], None)
        if old is None:
            raise Fault(name, "belongs to no signature of the log, or stands there twice", MENDED)
        self.last_number = max(self.last_number, line["seq"])
        last = self._verdicts.pop(line["event"], None)
        if last is None and old:
            self.before_journal += 1
            return
        here = (line["seq"], text_hash(canonical({field: line[field] for field in TOLD})))
        if last != here:
            raise Fault(name, f"({line['verdict']}) is not the last one in the journal", MENDED)

    def set_aside(self, line: Line) -> None:
        name = f"What was set aside as number {line['id']}"
        text = json.loads(line["text"]) if line["escaped"] else line["text"]
        if _hash_of_any(text) != line["hash"]:
            raise Fault(name, "was altered: its text does not fit its hash")
        told = text_hash(canonical({"reason": line["reason"], "tablet": line["tablet"]}))
        entry = self._aside.pop(line["hash"], None)
        old = self._journal_from is None or line["received_at"] < self._journal_from
        if entry is None and old:
            self.before_journal += 1
        elif entry != told:
            raise Fault(name, "is not what the journal says was set aside")

    def finish(self, runs: Runs) -> None:
        for event in self._unverdicted:
            raise Fault(f"Signature {event}", "has no verdict", MENDED)
        for event in self._verdicts:
            raise Fault(f"The verdict on signature {event}", "has no signature in the log")
        for aside in self._aside:
            raise Fault(f"What was set aside with hash {aside}", "is in the journal and not here")
        self._finish_tablets(runs)

    def _finish_tablets(self, runs: Runs) -> None:
        ends = runs.ends()
        for tablet in sorted({*ends, *self.keys} - self.tablets.keys()):
            raise Fault(f"Tablet {tablet}", "has records and is not in the list of tablets")
        for tablet, line in self.tablets.items():
            if line["key"] != self.keys.get(tablet):
                raise Fault(f"Tablet {tablet}", "has another key than it was enrolled with")
            for mark in ("enrolled_at", "revoked_at", "forked_at"):
                if line[mark] != self._marks.get((tablet, mark)):
                    what = f"says '{mark}' {line[mark]}, and the journal does not"
                    raise Fault(f"Tablet {tablet}", what)
            if (line["contiguous"], line["highest"]) != ends.get(tablet, (0, 0)):
                what = f"counts up to {line['contiguous']} and {line['highest']}; its events do not"
                raise Fault(f"Tablet {tablet}", what)


def _hash_of_any(text: str) -> str:
    return hashlib.sha256(text.encode(errors="surrogatepass")).hexdigest()
