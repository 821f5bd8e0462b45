"""Taking events in: accept the record, argue later. One transaction for each event."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass, field

from api.domain.errors import EventError
from api.domain.events import Event, at_utc, hash_of, parse
from api.domain.records import Outcome, SetAside, StoredEvent, Tablet
from api.use_cases.ports import Means, UnitOfWork
from api.use_cases.records import folding, projecting, verdicts
from api.use_cases.records.flags import Reference, chain_flags, flags_of
from api.use_cases.records.folding import Folded

STAGES = frozenset({"setup opened", "taken over", "judged", "abandoned", "trouble", "note"})


@dataclass(frozen=True, slots=True)
class Result:
    """What became of one text of a batch."""

    index: int
    id: str | None
    outcome: Outcome
    seq: int | None = None
    flags: tuple[str, ...] = ()
    message: str | None = None


@dataclass(frozen=True, slots=True)
class Accepted:
    """The answer to a batch; `contiguous` is the sender's highest gap-free number."""

    epoch: str
    watermark: int | None
    contiguous: int
    head: int
    time: dt.datetime
    results: list[Result]


@dataclass(frozen=True, slots=True)
class CommitPolicy:
    """When a batch is committed, and whether projections follow event by event."""

    transaction: Callable[[UnitOfWork], AbstractContextManager[None]]
    project_each: bool


@contextmanager
def _committed(uow: UnitOfWork) -> Iterator[None]:
    with uow:
        yield
        uow.commit()


EACH_EVENT = CommitPolicy(_committed, project_each=True)
"""The server's: whatever is answered as stored has been committed by itself."""
BY_CALLER = CommitPolicy(lambda _uow: nullcontext(), project_each=False)
"""For filling a new shop: the caller has begun the transaction and commits it."""


def accept_events(
    uow: UnitOfWork,
    means: Means,
    tablet: str,
    build: str,
    texts: Sequence[object],
    policy: CommitPolicy = EACH_EVENT,
) -> Accepted:
    """Stores what can be stored, sets the rest aside whole, and says so text by text.

    Safe to repeat: an event that is here already answers `already`. Raises `Unavailable`
    when a commit fails; what was committed before it stays and is safe to send again.
    """
    taking = _Taking(uow, means, tablet, build, policy)
    results = []
    for index, text in enumerate(texts):
        with policy.transaction(uow):
            results.append(taking.one(index, text))
    with policy.transaction(uow):
        taking.finish()
        meta, sender, head = uow.shop.meta(), uow.tablets.get(tablet), uow.events.head()
    contiguous = sender.contiguous if sender else 0
    return Accepted(meta.epoch, meta.watermark, contiguous, head, means.clock.now(), results)


@dataclass
class _Taking:
    """One batch on its way in; the setups it touches stay folded from event to event."""

    uow: UnitOfWork
    means: Means
    sender: str
    build: str
    policy: CommitPolicy
    stamp: tuple[int, int] | None = None
    known: Reference | None = None
    folded: dict[str, Folded] = field(default_factory=dict)
    newest: dict[str, StoredEvent] = field(default_factory=dict)
    unprojected: set[str] = field(default_factory=set)

    def one(self, index: int, text: object) -> Result:
        self.uow.events.lock()
        self._forget_if_others_wrote()
        now = self.means.clock.now()
        try:
            event, plain = _parsed(text)
        except EventError as problem:
            return self._set_aside(index, text, None, problem.message, now)
        twin = self.uow.events.find(event.id)
        if twin is not None and twin.hash == hash_of(plain):
            return Result(index, event.id, "already", twin.seq, twin.flags)
        if twin is not None:
            reason = "Another record with this id is here already, with other content."
            return self._set_aside(index, text, event.id, reason, now)
        tablet = self.uow.tablets.get(event.tablet)
        if tablet and event.n <= tablet.highest and self.uow.events.at(event.tablet, event.n):
            reason = f"Tablet {event.tablet} has sent another record as its number {event.n}."
            return self._set_aside(index, text, event.id, reason, now)
        stored = self._store(event, plain, now, tablet)
        self.stamp = self._stamp()
        return Result(index, event.id, "stored", stored.seq, stored.flags)

    def finish(self) -> None:
        self.uow.events.lock()
        self.uow.tablets.see(self.sender, self.build, self.means.clock.now())
        for setup in sorted(self.unprojected):
            projecting.save(self.uow, self.folded[setup])
        self.unprojected.clear()

    def _store(
        self, event: Event, plain: str, now: dt.datetime, tablet: Tablet | None
    ) -> StoredEvent:
        folded, known = self._folded(event.setup), self._known()
        phase = folded.setup.phase
        judged = (
            verdicts.judge(self.uow, self.means, event) if event.kind in verdicts.SIGNING else None
        )
        if judged is not None:
            folded.verdicts[event.id] = judged.verdict
        folding.add(folded, event, known.steps_of)
        flags = (
            *flags_of(event, now, self.sender, known, folded),
            *self._chain_flags(event, plain, tablet),
        )
        stored = self.uow.events.append(_unnumbered(event, plain, now, flags))
        folded.stored.append(stored)
        if tablet is None:
            self.uow.tablets.see(event.tablet, event.build, now)
        self.uow.tablets.advance(event.tablet, event.n)
        self.newest[event.tablet] = stored
        if judged is not None:
            verdicts.record(self.uow, self.means, event, judged)
        rejudged = rejudge(self.uow, self.means, folded, known.steps_of, covering=event.id)
        self._project(event.setup, folded)
        if rejudged or judged or event.kind in STAGES or folded.setup.phase != phase:
            self.uow.shop.bump()
        return stored

    def _project(self, setup: str, folded: Folded) -> None:
        if self.policy.project_each:
            projecting.save(self.uow, folded)
        else:
            self.unprojected.add(setup)

    def _chain_flags(self, event: Event, plain: str, tablet: Tablet | None) -> list[str]:
        contiguous, highest = (tablet.contiguous, tablet.highest) if tablet else (0, 0)
        before = self.newest.get(event.tablet)
        if before is None or before.n != event.n - 1:
            before = self.uow.events.at(event.tablet, event.n - 1)
        after = self.uow.events.at(event.tablet, event.n + 1) if event.n < highest else None
        return chain_flags(event, hash_of(plain), contiguous, before, after)

    def _folded(self, setup: str) -> Folded:
        if setup not in self.folded:
            self.folded[setup] = folding.load(self.uow, setup, self._known().steps_of)
        return self.folded[setup]

    def _known(self) -> Reference:
        if self.known is None:
            self.known = Reference.read(self.uow, folding.steps_from(self.uow))
        return self.known

    def _forget_if_others_wrote(self) -> None:
        if self.stamp != self._stamp():
            self.known = None
            self.folded.clear()
            self.newest.clear()
            self.stamp = self._stamp()

    def _stamp(self) -> tuple[int, int]:
        if not self.policy.project_each:
            return (0, 0)  # the caller's own transaction; nobody else writes
        return self.uow.events.head(), self.uow.shop.version()

    def _set_aside(
        self, index: int, text: object, event_id: str | None, reason: str, now: dt.datetime
    ) -> Result:
        whole = text if isinstance(text, str) else json.dumps(text)
        escaped = "\0" in whole or any("\ud800" <= char <= "\udfff" for char in whole)
        item = SetAside(
            id=0,
            hash=hashlib.sha256(whole.encode(errors="surrogatepass")).hexdigest(),
            text=json.dumps(whole) if escaped else whole,
            escaped=escaped,
            reason=reason,
            tablet=self.sender,
            received_at=now,
        )
        if self.uow.events.set_aside(item):
            told = {"reason": reason, "tablet": self.sender}
            self.uow.journal.add("set aside", item.hash, told, now)
        return Result(index, event_id, "set aside", message=reason)


def rejudge(
    uow: UnitOfWork,
    means: Means,
    folded: Folded,
    steps_of: folding.StepsOf,
    *,
    covering: str | None = None,
) -> bool:
    """Judges the setup's provisional signatures again; True when a verdict changed.

    With `covering`, only those that wait for that record.
    """
    changed = False
    for event in folded.parsed:
        if folded.verdicts.get(event.id) != "provisional":
            continue
        if covering is not None and covering not in event.data["covers"]["events"]:
            continue
        judged = verdicts.judge(uow, means, event)
        if verdicts.record(uow, means, event, judged, uow.signatures.get(event.id)):
            folded.verdicts[event.id] = judged.verdict
            changed = True
    if changed:
        folding.refold(folded, steps_of)
    return changed


def judge_due_signatures(uow: UnitOfWork, means: Means) -> int:
    """Compares PINs that had to wait for a lock to end; returns how many verdicts changed."""
    with uow:
        due = {one.setup for one in uow.signatures.due(means.clock.now())}
        if not due:
            return 0
        uow.events.lock()
        steps_of = folding.steps_from(uow)
        changed = 0
        for setup in sorted(due):
            folded = folding.load(uow, setup, steps_of)
            if rejudge(uow, means, folded, steps_of):
                projecting.save(uow, folded)
                changed += 1
        uow.shop.bump()
        uow.commit()
    return changed


def _parsed(text: object) -> tuple[Event, str]:
    if not isinstance(text, str):
        raise EventError("An event travels as text: a JSON string that holds a JSON object.")
    event = parse(text)
    if event.step is not None and not event.step.isprintable():
        raise EventError("step: control characters cannot be part of a step's name.", field="step")
    return event, text


def _unnumbered(event: Event, plain: str, now: dt.datetime, flags: tuple[str, ...]) -> StoredEvent:
    """The event before the log gives it its number and its link."""
    return StoredEvent(
        seq=0,
        id=event.id,
        tablet=event.tablet,
        n=event.n,
        setup=event.setup,
        kind=event.kind,
        step=event.step,
        person=event.person,
        at=at_utc(event),
        received_at=now,
        text=plain,
        hash=hash_of(plain),
        chain="",
        flags=flags,
    )
