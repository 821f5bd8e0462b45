"""What is known of one setup: the result of folding its events."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal

from api.domain.plates import SetupPhase

StepState = Literal["open", "second entry", "trouble", "two answers", "done", "moved"]
Verdict = Literal["provisional", "confirmed", "refused"]
UNDONE: frozenset[StepState] = frozenset({"open", "second entry", "trouble", "two answers"})


@dataclass
class StepStatus:
    """Where one step stands; `event` is the record that counts, `answers` all in this round."""

    state: StepState = "open"
    event: str | None = None
    tablet: str | None = None
    person: str | None = None
    at: str | None = None
    answers: list[str] = field(default_factory=list)

    @property
    def undone(self) -> bool:
        return self.state in UNDONE


@dataclass
class ReadingEntry:
    """One value as entered; `corrects` names the record it replaces, `out` is beyond limits."""

    event: str
    entry: int
    value: str
    unit: str
    value_mm: float
    out: bool
    corrects: str | None = None


@dataclass
class Reading:
    """A point's reading in one state: the value that counts and every entry behind it."""

    step: str
    point: str
    state: str
    entries: list[ReadingEntry]
    final: ReadingEntry | None = None


@dataclass
class TroubleNote:
    event: str
    step: str | None
    what: str
    clamp: str | None
    open: bool = True


@dataclass
class Pulled:
    """A clamp turned to a share of its full torque while the plate was being tightened."""

    event: str
    clamp: str
    share: float


@dataclass
class Restart:
    """A pass that was interrupted and starts again; `cleared` steps had been done."""

    event: str
    group: str
    cleared: list[str]


@dataclass
class Judgement:
    event: str
    person: str | None
    judgement: str
    reason: str
    causes: list[str]


@dataclass
class Signature:
    event: str
    person: str | None
    meaning: str
    covers: list[str]
    verdict: Verdict
    counter: bool


@dataclass
class Setup:
    """The whole state of one setup.

    `plan` holds the selected steps in JSON form; `countersign` says that the sheet asks for a
    second person's signature.
    """

    id: str
    plan: list[dict[str, Any]] = field(default_factory=list)
    opened: dict[str, Any] | None = None
    opened_by: str | None = None
    opened_at: str | None = None
    owner_tablet: str | None = None
    owner_person: str | None = None
    paused: bool = False
    round: int = 1
    attempt: int = 1
    steps: dict[str, StepStatus] = field(default_factory=dict)
    readings: dict[str, Reading] = field(default_factory=dict)
    movers: dict[int, list[str]] = field(default_factory=dict)
    pulls: list[Pulled] = field(default_factory=list)
    troubles: list[TroubleNote] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    restarts: list[Restart] = field(default_factory=list)
    judgement: Judgement | None = None
    judgements: list[Judgement] = field(default_factory=list)
    signatures: list[Signature] = field(default_factory=list)
    after_signature: list[str] = field(default_factory=list)
    flags: list[tuple[str, str]] = field(default_factory=list)
    odd: list[str] = field(default_factory=list)
    countersign: bool = False
    rejected: bool = False
    abandoned: bool = False
    step_of_event: dict[str, str] = field(default_factory=dict)

    def step(self, step_id: str) -> dict[str, Any]:
        return next(step for step in self.plan if step["id"] == step_id)

    @property
    def valid_signatures(self) -> list[Signature]:
        return [one for one in self.signatures if one.verdict != "refused"]

    @property
    def signers(self) -> set[str | None]:
        """Who signed for the work itself, and was not refused."""
        return {one.person for one in self.valid_signatures if not one.counter}

    @property
    def second_wanted(self) -> bool:
        """Signed, but the sheet asks for a second person's signature, and none stands."""
        signers = self.signers
        second = (one.counter and one.person not in signers for one in self.valid_signatures)
        return self.countersign and bool(signers) and not any(second)

    @property
    def phase(self) -> SetupPhase:
        if self.abandoned:
            return "abandoned"
        if self.rejected:
            return "rejected"
        if self._done("unload"):
            return "finished"
        if self._done("machine"):
            return "in machine"
        return "signed" if self.valid_signatures and not self.second_wanted else "working"

    def _done(self, step_id: str) -> bool:
        status = self.steps.get(step_id)
        return status is not None and not status.undone
