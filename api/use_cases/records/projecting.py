"""From a folded setup to the rows that lists, searches and counts are made from."""

from __future__ import annotations

from collections import Counter
from typing import Any, cast

from api.domain.events import Event, at_utc
from api.domain.records import Judgement, PointReading, SetupSummary, StoredEvent
from api.domain.setups import Setup, current
from api.domain.setups.state import Reading, ReadingEntry
from api.use_cases.ports import UnitOfWork
from api.use_cases.records.folding import Folded

PULLS = frozenset({"clamp tightened", "clamp moved on re-check"})
PULLED_STEPS = frozenset({"recheck", "touch", "ease"})


def save(uow: UnitOfWork, folded: Folded) -> SetupSummary | None:
    """Writes the setup's projection; nothing before its opening record is here."""
    summary = summary_of(folded)
    if summary is not None:
        uow.setups.save(summary, readings_of(folded), pulls_of(folded))
    return summary


def summary_of(folded: Folded) -> SetupSummary | None:
    setup = folded.setup
    opening = next((one for one in folded.parsed if one.kind == "setup opened"), None)
    if opening is None:
        return None
    last = folded.stored[-1]
    signature = next((one for one in reversed(setup.signatures) if not one.counter), None)
    return SetupSummary(
        id=setup.id,
        plate=opening.data["plate"],
        design=opening.data["design"],
        revision=opening.data["revision"],
        phase=setup.phase,
        opened_at=at_utc(opening),
        opened_by=opening.person,
        last_at=last.at,
        last_seq=last.seq,
        events=len(folded.stored),
        tablet=last.tablet,
        person=last.person,
        step=current(setup),
        tool=_serial(opening, "tool"),
        indicator=_serial(opening, "indicator"),
        judgement=_judgement(setup),
        signed_by=signature.person if signature and signature.verdict != "refused" else None,
        signature=signature.verdict if signature else None,
        greased=_all_done(setup, kind="grease"),
        baseline=_all_done(setup, kind="read", state="empty locked"),
        movers=sum(len(clamps) for clamps in setup.movers.values()),
        troubles=tuple(
            {"event": one.event, "what": one.what, "clamp": one.clamp, "step": one.step}
            for one in setup.troubles
            if one.open
        ),
        flags=_flags(folded),
    )


def readings_of(folded: Folded) -> list[PointReading]:
    events = {one.id: one for one in folded.parsed}
    places = {one.id: one for one in folded.stored}
    plate = str((folded.setup.opened or {}).get("plate", ""))
    return [
        _reading(reading, entry, events, places[entry.event], plate)
        for reading in folded.setup.readings.values()
        for entry in reading.entries
        if entry.event in places
    ]


def pulls_of(folded: Folded) -> dict[str, int]:
    """How often each torque tool was pulled in this setup."""
    kinds = {step["id"]: step["kind"] for step in folded.setup.plan}
    default = str((folded.setup.opened or {}).get("frozen", {}).get("tool", {}).get("serial", ""))
    found: Counter[str] = Counter()
    for event in folded.parsed:
        step_kind = kinds.get(event.step or "", (event.step or "").partition("/")[0])
        if event.kind in PULLS or (event.kind == "step done" and step_kind in PULLED_STEPS):
            found[_plain(event.data.get("tool", default))] += 1
    found.pop("", None)
    return dict(found)


def _reading(
    reading: Reading,
    entry: ReadingEntry,
    events: dict[str, Event],
    place: StoredEvent,
    plate: str,
) -> PointReading:
    data = events[entry.event].data
    first = events.get(entry.corrects or "")
    older: dict[str, Any] = first.data if first else {}
    return PointReading(
        event=entry.event,
        setup=place.setup,
        plate=plate,
        point=_plain(reading.point),
        state=_plain(reading.state),
        value_mm=entry.value_mm,
        value=entry.value,
        unit=entry.unit,
        source=_plain(data.get("source", older.get("source", ""))),
        indicator=_plain(data.get("indicator", older.get("indicator", ""))),
        person=place.person,
        at=place.at,
        seq=place.seq,
        entry=entry.entry,
        final=entry is reading.final,
    )


def _flags(folded: Folded) -> tuple[str, ...]:
    found = [flag for one in folded.stored for flag in one.flags]
    found += [flag for _, flag in folded.setup.flags]
    if any(status.state == "two answers" for status in folded.setup.steps.values()):
        found.append("two answers")
    if folded.setup.second_wanted:
        found.append("second signature wanted")
    if folded.setup.after_signature:
        found.append("after signature")
    return tuple(dict.fromkeys(found))


def _judgement(setup: Setup) -> Judgement | None:
    return cast("Judgement", setup.judgement.judgement) if setup.judgement else None


def _all_done(setup: Setup, **wanted: str) -> bool:
    steps = [s for s in setup.plan if all(s.get(name) == value for name, value in wanted.items())]
    return bool(steps) and not any(setup.steps[step["id"]].undone for step in steps)


def _serial(opening: Event, item: str) -> str | None:
    return _plain(opening.data["frozen"][item].get("serial", "")) or None


def _plain(value: object) -> str:
    """Text that fits a column, whatever a tablet put there."""
    return "".join(char for char in str(value)[:64] if char.isprintable())
