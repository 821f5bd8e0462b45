"""Taking events in: accept the record, argue later. One transaction for each event."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass, field
from typing import Any

from api.domain.errors import EventError
from api.domain.events import Event, at_utc, hash_of, parse, signed_text
from api.domain.records import Outcome, StoredEvent, Tablet
from api.use_cases.ports import Means, UnitOfWork
from api.use_cases.records import answering, folding, projecting, setting_aside, verdicts
from api.use_cases.records.answering import Seen
from api.use_cases.records.flags import Reference, chain_flags, flags_of, tablet_flags
from api.use_cases.records.folding import Folded
from api.use_cases.records.rejudging import rejudge
from api.use_cases.tablets import TabletState, state_of

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
class Sent:
    """One text of a batch with the signature that came beside it."""

    index: int
    text: object
    sig: str | None


@dataclass(frozen=True, slots=True)
class Accepted:
    """The answer to a batch; `contiguous` is the sender's highest gap-free number."""

    epoch: str
    watermark: int | None
    contiguous: int
    head: int
    time: dt.datetime
    results: list[Result]
    checkpoint: dict[str, Any] | None
    tablet: TabletState


@dataclass(frozen=True, slots=True)
class CommitPolicy:
    """When a batch is committed, whether projections follow event by event, and who sent it.

    Where the sender is not there itself, it has not been seen.
    """

    transaction: Callable[[UnitOfWork], AbstractContextManager[None]]
    project_each: bool
    sender_is_there: bool = True


@contextmanager
def _committed(uow: UnitOfWork) -> Iterator[None]:
    with uow:
        yield
        uow.commit()


EACH_EVENT = CommitPolicy(_committed, project_each=True)
"""The server's: whatever is answered as stored has been committed by itself."""
CARRIED = CommitPolicy(_committed, project_each=True, sender_is_there=False)
"""As the server's, for what somebody else brings in a tablet's stead."""
BY_CALLER = CommitPolicy(lambda _uow: nullcontext(), project_each=False)
"""For filling a new shop: the caller has begun the transaction and commits it."""


def accept_events(
    uow: UnitOfWork,
    means: Means,
    tablet: str,
    build: str,
    texts: Sequence[object],
    sigs: Sequence[str | None],
    *,
    seen: Seen | None = None,
    policy: CommitPolicy = EACH_EVENT,
) -> Accepted:
    """Stores what can be stored, sets the rest aside whole, and says so text by text.

    `sigs` holds each text's signature by the key of the tablet that it names. Safe to repeat: an
    event that is here already answers `already`. Raises `Unavailable` when a commit fails; what
    was committed before it stays and is safe to send again.
    """
    taking = _Taking(uow, means, tablet, build, policy)
    results = []
    for index, (text, sig) in enumerate(zip(texts, sigs, strict=True)):
        with policy.transaction(uow):
            results.append(taking.one(Sent(index, text, sig)))
    with policy.transaction(uow):
        taking.finish(seen)
        meta, sender, head = uow.shop.meta(), uow.tablets.get(tablet), uow.events.head()
        checkpoint = answering.newest_checkpoint(uow)
    return Accepted(
        meta.epoch,
        meta.watermark,
        sender.contiguous if sender else 0,
        head,
        means.clock.now(),
        results,
        checkpoint,
        state_of(sender) if sender else "in use",
    )


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

    def one(self, sent: Sent) -> Result:
        self.uow.events.lock()
        self._forget_if_others_wrote()
        now = self.means.clock.now()
        try:
            event, plain = _parsed(sent.text)
        except EventError as problem:
            return self._set_aside(sent, None, problem.message, now)
        twin = self.uow.events.find(event.id)
        if twin is not None and twin.hash == hash_of(plain):
            return Result(sent.index, event.id, "already", twin.seq, twin.flags)
        tablet = self.uow.tablets.get(event.tablet)
        if tablet is None or not self._is_signed(tablet, plain, sent.sig):
            reason = f"It is not signed by the key of tablet {event.tablet}."
            return self._set_aside(sent, event.id, reason, now)
        reason = self._clash(event, tablet, twin, now)
        if reason:
            return self._set_aside(sent, event.id, reason, now)
        stored = self._store(event, plain, sent.sig, now, tablet)
        self.stamp = self._stamp()
        return Result(sent.index, event.id, "stored", stored.seq, stored.flags)

    def finish(self, seen: Seen | None) -> None:
        self.uow.events.lock()
        now = self.means.clock.now()
        if self.policy.sender_is_there:
            self.uow.tablets.see(self.sender, self.build, now)
        if seen is not None:
            answering.compare(self.uow, self.sender, seen, now)
        for setup in sorted(self.unprojected):
            projecting.save(self.uow, self.folded[setup])
        self.unprojected.clear()

    def _is_signed(self, tablet: Tablet, plain: str, sig: str | None) -> bool:
        if tablet.key is None or sig is None:
            return False
        return self.means.tablet_keys.signed(tablet.key, signed_text(hash_of(plain)), sig)

    def _clash(
        self, event: Event, tablet: Tablet, twin: StoredEvent | None, now: dt.datetime
    ) -> str:
        """Why a signed event finds its place taken; another record under its number is a fork."""
        taken = event.n <= tablet.highest and self.uow.events.at(event.tablet, event.n)
        if taken:
            setting_aside.note_fork(self.uow, tablet, event.n, now)
        if twin is not None:
            return "Another record with this id is here already, with other content."
        if taken:
            return f"Tablet {event.tablet} has sent another record as its number {event.n}."
        return ""

    def _store(
        self, event: Event, plain: str, sig: str | None, now: dt.datetime, tablet: Tablet
    ) -> StoredEvent:
        folded, known = self._folded(event.setup), self._known()
        phase = folded.setup.phase
        judged = (
            verdicts.judge_first(self.uow, self.means, event, tablet, folded.setup)
            if event.kind in verdicts.SIGNING
            else None
        )
        if judged is not None:
            folded.verdicts[event.id] = judged.verdict
        folding.add(folded, event, known.steps_of)
        flags = (
            *flags_of(event, now, self.sender, known, folded),
            *tablet_flags(tablet),
            *self._chain_flags(event, plain, tablet),
        )
        stored = self.uow.events.append(_unnumbered(event, plain, sig, now, flags))
        folded.stored.append(stored)
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

    def _chain_flags(self, event: Event, plain: str, tablet: Tablet) -> list[str]:
        before = self.newest.get(event.tablet)
        if before is None or before.n != event.n - 1:
            before = self.uow.events.at(event.tablet, event.n - 1)
        after = self.uow.events.at(event.tablet, event.n + 1) if event.n < tablet.highest else None
        return chain_flags(event, hash_of(plain), tablet.contiguous, before, after)

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

    def _set_aside(self, sent: Sent, event_id: str | None, reason: str, now: dt.datetime) -> Result:
        setting_aside.keep(self.uow, sent.text, sent.sig, reason, self.sender, now)
        return Result(sent.index, event_id, "set aside", message=reason)


def _parsed(text: object) -> tuple[Event, str]:
    if not isinstance(text, str):
        raise EventError("An event travels as text: a JSON string that holds a JSON object.")
    event = parse(text)
    if event.step is not None and not event.step.isprintable():
        raise EventError("step: control characters cannot be part of a step's name.", field="step")
    return event, text


def _unnumbered(
    event: Event, plain: str, sig: str | None, now: dt.datetime, flags: tuple[str, ...]
) -> StoredEvent:
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
        sig=sig,
    )
