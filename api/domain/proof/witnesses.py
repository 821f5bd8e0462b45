"""What speaks from outside the rows: checkpoints, signed restores, and the file of checkpoints."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from api.domain.chain import NO_PREVIOUS, canonical
from api.domain.checkpoints import Checkpoint, parse_checkpoint
from api.domain.errors import BadInput
from api.domain.proof.faults import COMPARE, KEEP, Fault
from api.domain.proof.rows import Chain, name_of
from api.domain.records import JournalEntry

Signed = Callable[[str, str, str], bool | None]
"""(key id, text, signature): whether it is that key's; None when no such key is known."""
FIND_KEY = "Put its 'signing-....pub' back into the folder of checkpoints, from a backup."
FIND_FILE = (
    "If the folder of checkpoints was changed, copy the earlier checkpoints.jsonl there. "
    "If the file was cut, keep everything as it is and look for another copy of it."
)


@dataclass(slots=True)
class Epoch:
    """From entry `first` on; the next restore ended it at entry `end`."""

    name: str
    first: int
    end: int | None = None


@dataclass
class Witnesses:
    """Gathers while the rows pass, and judges the file of checkpoints at the end.

    `outside` holds the file's lines; None where there is no file to compare with.
    """

    signed: Signed
    outside: list[Checkpoint] | None
    epochs: list[Epoch] = field(default_factory=list)
    given_up: set[str] = field(default_factory=set)
    earlier: list[Checkpoint] = field(default_factory=list)
    newest: Checkpoint | None = None
    met: int = 0

    def __post_init__(self) -> None:
        self._wanted = {one.seq for one in self.outside or ()}
        self._published = {one.signature for one in self.outside or ()}
        self._here = {0: (0, NO_PREVIOUS)} if 0 in self._wanted else {}
        self._of_journal = 0

    def see(self, chain: Chain) -> None:
        """Called after each row; keeps what the file speaks of."""
        if chain.seq in self._wanted:
            self._here[chain.seq] = (chain.count, chain.head)

    def checkpoint(self, entry: JournalEntry, before: Chain) -> None:
        """A checkpoint of the journal speaks of the row just before it."""
        try:
            told = parse_checkpoint(entry.body)
        except BadInput as problem:
            raise Fault(name_of(entry), f"holds no checkpoint: {problem.message}") from None
        if (told.seq, told.count, told.head) != (before.seq, before.count, before.head):
            raise Fault(name_of(entry), "does not fit the rows before it", COMPARE)
        if entry.subject != str(told.seq):
            raise Fault(name_of(entry), "is listed under another number than its own")
        self._require_epoch(entry, told.epoch)
        self._require_signature(name_of(entry), told.key, told.signed_text, told.signature)
        if self.outside is not None and told.signature not in self._published:
            raise Fault(name_of(entry), "is not in the file of checkpoints", FIND_FILE)
        self.newest = told
        self._of_journal += 1

    def restored(self, entry: JournalEntry, before: Chain) -> None:
        body = json.loads(entry.body)
        signature = str(body.pop("signature", ""))
        self._require_signature(name_of(entry), str(body.get("key")), canonical(body), signature)
        told = (body["seq"], body["head"], body["epoch"])
        if told != (before.seq, before.head, entry.subject):
            raise Fault(name_of(entry), "does not fit the rows before it", COMPARE)
        self._require_epoch(entry, str(body["from"]))
        self.epochs[-1].end = entry.seq
        self.epochs.append(Epoch(entry.subject, entry.seq))
        self.given_up |= set(body["given_up"])

    def finish(self, epoch: str, last: Chain) -> None:
        """Judges the file, and that the shop's epoch is the one the journal leads to."""
        if self.epochs and self.epochs[-1].name != epoch:
            raise Fault("The shop's epoch", "is not the one its journal leads to")
        lineage = self.epochs or [Epoch(epoch, 0)]
        by_name = {one.name: one for one in lineage}
        for number, told in enumerate(self.outside or (), start=1):
            self._judge(f"The checkpoint of {told.at} (line {number})", told, by_name, last)
        restored = len(lineage) > 1 and self.outside is not None
        if restored and all(one.epoch != epoch for one in self.outside or ()):
            where = f"The restore at entry {lineage[-1].first}"
            raise Fault(where, "is not in the file of checkpoints", FIND_FILE)
        if self.outside is None:
            self.met = self._of_journal

    def _judge(self, where: str, told: Checkpoint, known: dict[str, Epoch], last: Chain) -> None:
        self._require_signature(where, told.key, told.signed_text, told.signature)
        epoch = known.get(told.epoch)
        if epoch is None and told.epoch not in self.given_up:
            what = f"is of epoch {told.epoch}, which this database does not know"
            raise Fault(where, what, COMPARE)
        if epoch is None or (epoch.end is not None and told.seq >= epoch.end):
            self.earlier.append(told)
            return
        if told.seq > last.seq:
            what = f"counts records up to number {told.seq}; here they end at {last.seq}"
            raise Fault(where, f"{what}: the end was cut off", COMPARE)
        if self._here.get(told.seq) != (told.count, told.head):
            raise Fault(where, f"is not met: what was number {told.seq} is not here now", COMPARE)
        if told.seq < epoch.first:
            raise Fault(where, "speaks of rows from before its epoch", COMPARE)
        self.met += 1
        if self.newest is None or told.at > self.newest.at:
            self.newest = told

    def _require_epoch(self, entry: JournalEntry, epoch: str) -> None:
        if not self.epochs:
            self.epochs.append(Epoch(epoch, 0))
        if self.epochs[-1].name != epoch:
            raise Fault(name_of(entry), f"is of epoch {epoch}, and it is not in that epoch")

    def _require_signature(self, where: str, key: str, text: str, signature: str) -> None:
        valid = self.signed(key, text, signature)
        if valid is None:
            raise Fault(where, f"is signed by key {key}, which is not known here", FIND_KEY)
        if not valid:
            raise Fault(where, "is not signed by the shop", KEEP)


def read_outside(lines: Iterable[Checkpoint | str]) -> list[Checkpoint]:
    """The file's checkpoints; raises `Fault` at a line that is none."""
    found = []
    for line in lines:
        if isinstance(line, str):
            raise Fault("The file of checkpoints", f"was altered: {line}", FIND_FILE)
        found.append(line)
    return found
