"""A tablet's saved records handed in by a lead, where the tablet itself cannot send them any more."""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from dataclasses import dataclass, field

from api.domain.errors import BadInput, NotFound
from api.domain.handed_in import FIELD, HandedFile, read_handed_file
from api.domain.people import Action, Person, require
from api.domain.records import JournalEntry, Outcome, SetAside, SetupSummary
from api.use_cases.ports import Means, UnitOfWork
from api.use_cases.records import CARRIED, Seen, accept_events
from api.use_cases.records.setting_aside import fingerprint

BATCH = 200
MOST_NAMED = 200
MOST_LISTED = 20


@dataclass
class Tally:
    """What became of the records; `setups` counts those stored now, `asides` are their hashes."""

    outcomes: Counter[Outcome] = field(default_factory=Counter)
    setups: Counter[str] = field(default_factory=Counter)
    asides: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class HandedIn:
    """One file handed in, as the journal tells it."""

    entry: JournalEntry
    tablet: str
    file: str
    stored: int
    already: int
    set_aside: int
    setups: dict[str, int]
    asides: list[str]


@dataclass(frozen=True, slots=True)
class Touched:
    """A setup with records in the file; its summary is missing until its opening is here."""

    setup: str
    stored: int
    summary: SetupSummary | None


@dataclass(frozen=True, slots=True)
class Told:
    """A file handed in, with what there is now of its setups and of what was set aside."""

    handed: HandedIn
    setups: list[Touched]
    asides: list[SetAside]


def hand_in(uow: UnitOfWork, means: Means, content: bytes, by: Person) -> HandedIn:
    """Takes each record as if its tablet had sent it; safe to repeat.

    Raises `BadInput`, having changed nothing, where the file is none or of no tablet known here.
    """
    require(by, Action.SETTLE)
    file = read_handed_file(content)
    _refuse_strangers(uow, file)
    tally = Tally()
    for at in range(0, len(file.events), BATCH):
        _take(uow, means, file, at, tally)
    told = {
        "tablet": file.tablet,
        "file": hashlib.sha256(content).hexdigest(),
        "stored": tally.outcomes["stored"],
        "already": tally.outcomes["already"],
        "set aside": tally.outcomes["set aside"],
        "setups": dict(tally.setups),
        "asides": list(dict.fromkeys(tally.asides))[:MOST_NAMED],
    }
    with uow:
        uow.events.lock()
        entry = uow.journal.add("handed in", file.tablet, told, means.clock.now(), by.badge)
        uow.commit()
    return _told_by(entry)


def list_handed_in(uow: UnitOfWork, by: Person) -> list[HandedIn]:
    """The newest first."""
    require(by, Action.READ)
    with uow:
        entries = uow.journal.of_kind("handed in")
    return [_told_by(one) for one in reversed(entries[-MOST_LISTED:])]


def look(uow: UnitOfWork, seq: int, by: Person) -> Told:
    require(by, Action.READ)
    with uow:
        entry = next((one for one in uow.journal.after(seq - 1, 1) if one.seq == seq), None)
        if entry is None or entry.kind != "handed in":
            raise NotFound(f"No file was handed in under number {seq}.")
        handed = _told_by(entry)
        setups = [Touched(one, n, uow.setups.get(one)) for one, n in handed.setups.items()]
        asides = [kept for one in handed.asides if (kept := uow.questions.aside(one))]
    setups.sort(key=lambda one: (-one.stored, one.summary.plate if one.summary else "", one.setup))
    return Told(handed, setups, asides)


def _refuse_strangers(uow: UnitOfWork, file: HandedFile) -> None:
    with uow:
        known = {one.id for one in uow.tablets.all() if one.key is not None}
    if not file.tablets & known:
        raise BadInput(
            f"Tablet {file.tablet} of this file was never enrolled in this shop. Hand the file in "
            "where the tablet belongs.",
            field=FIELD,
        )


def _take(uow: UnitOfWork, means: Means, file: HandedFile, at: int, tally: Tally) -> None:
    texts, sigs = file.events[at : at + BATCH], file.sigs[at : at + BATCH]
    seen = Seen(**file.seen.model_dump()) if file.seen and at == 0 else None
    taken = accept_events(uow, means, file.tablet, "", texts, sigs, seen=seen, policy=CARRIED)
    for result in taken.results:
        tally.outcomes[result.outcome] += 1
        if result.outcome == "set aside":
            tally.asides.append(fingerprint(texts[result.index]))
    stored = {one.id for one in taken.results if one.outcome == "stored"}
    with uow:
        here = uow.events.found(
            one.id for one in taken.results if one.id and one.outcome != "set aside"
        )
    for event in here.values():
        tally.setups[event.setup] += event.id in stored


def _told_by(entry: JournalEntry) -> HandedIn:
    body = json.loads(entry.body)
    return HandedIn(
        entry,
        body["tablet"],
        body["file"],
        body["stored"],
        body["already"],
        body["set aside"],
        body["setups"],
        body["asides"],
    )
