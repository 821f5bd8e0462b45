"""One setup's events and verdicts, folded; kept up to date event by event while a batch runs."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from api.domain.events import Event, parse
from api.domain.records import StoredEvent, Verdict
from api.domain.setups import Setup, apply, ordered
from api.domain.steps import select
from api.use_cases.ports import UnitOfWork


@dataclass(frozen=True, slots=True)
class Plan:
    """What a released revision asks for: its steps, and whether a second person signs."""

    steps: list[dict[str, Any]]
    countersign: bool


NO_PLAN = Plan([], countersign=False)
StepsOf = Callable[[str, str], Plan | None]
# What a record that passed its own model can still trip over when it fits no setup.
MISFITS = (KeyError, IndexError, ValueError, TypeError, AttributeError, StopIteration)


@dataclass
class Folded:
    """A setup's state with the stored events behind it."""

    setup: Setup
    stored: list[StoredEvent] = field(default_factory=list)
    parsed: list[Event] = field(default_factory=list)
    verdicts: dict[str, Verdict] = field(default_factory=dict)


def steps_from(uow: UnitOfWork) -> StepsOf:
    """Looks up the frozen plan of a revision, each once."""
    known: dict[tuple[str, str], Plan | None] = {}

    def steps_of(design: str, revision: str) -> Plan | None:
        key = (design, revision)
        if key not in known:
            found = uow.designs.get(design, revision)
            sheet = found.sheet if found is not None else None
            known[key] = Plan(sheet["steps"], bool(sheet.get("countersign"))) if sheet else None
        return known[key]

    return steps_of


def load(uow: UnitOfWork, setup_id: str, steps_of: StepsOf) -> Folded:
    """The setup as the log has it now."""
    stored = uow.events.of_setup(setup_id)
    verdicts = {one.event: one.verdict for one in uow.signatures.of_setup(setup_id)}
    folded = Folded(Setup(setup_id), stored, [parse(one.text) for one in stored], verdicts)
    refold(folded, steps_of)
    return folded


def refold(folded: Folded, steps_of: StepsOf) -> None:
    """Folds every event anew."""
    setup = Setup(folded.setup.id)
    events = ordered(folded.parsed)
    plan = _plan(events, steps_of)
    setup.plan, setup.countersign = plan.steps, plan.countersign
    for event in events:
        _apply(setup, event, folded.verdicts)
    folded.setup = setup


def add(folded: Folded, event: Event, steps_of: StepsOf) -> None:
    """Takes one more event; only one that is out of its tablet's order costs a new fold."""
    in_order = all(other.n < event.n for other in folded.parsed if other.tablet == event.tablet)
    folded.parsed.append(event)
    if in_order and event.kind != "setup opened":
        _apply(folded.setup, event, folded.verdicts)
    else:
        refold(folded, steps_of)


def _plan(events: Sequence[Event], steps_of: StepsOf) -> Plan:
    opening = next((event for event in events if event.kind == "setup opened"), None)
    if opening is None:
        return NO_PLAN
    plan = steps_of(opening.data["design"], opening.data["revision"])
    if plan is None:
        return NO_PLAN
    return Plan(select(plan.steps, opening.data["facts"]), plan.countersign)


def _apply(setup: Setup, event: Event, verdicts: dict[str, Verdict]) -> None:
    """A record that fits nothing in its setup is kept and listed as odd."""
    try:
        apply(setup, event, verdicts)
    except MISFITS:
        if event.id not in setup.odd:
            setup.odd.append(event.id)
