"""Every item that is open now, from what is kept; no setup is folded that has nothing to tell."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from api.domain.inbox import (
    GAP_STANDS,
    OWN_ITEM,
    PROVISIONAL_LONG,
    Item,
    Where,
    missing_ranges,
    silent_after,
)
from api.domain.records import SetupSummary, StoredEvent, Tablet
from api.use_cases import office_log
from api.use_cases.inbox import open_points
from api.use_cases.ports import UnitOfWork
from api.use_cases.ports.questions import Marked

MOST_NUMBERS = 20_000


@dataclass(frozen=True, slots=True)
class Gathering:
    """What several kinds of items are made from, read once."""

    uow: UnitOfWork
    now: dt.datetime
    tablets: dict[str, Tablet]


def all_items(uow: UnitOfWork, now: dt.datetime) -> Iterator[Item]:
    """Open or dealt with alike; what has settled itself is no item any more."""
    found = Gathering(uow, now, {one.id: one for one in uow.tablets.all()})
    yield from _signatures(found)
    yield from _asides(uow)
    yield from _of_setups(uow)
    yield from _tablets(found)
    yield from _other_chains(uow)


def _signatures(found: Gathering) -> Iterator[Item]:
    doubtful = found.uow.questions.doubtful()
    plates = found.uow.questions.plates({one.signature.setup for one in doubtful})
    for one in doubtful:
        sign = one.signature
        where = Where(
            sign.setup, plates.get(sign.setup), "sign", sign.person, one.tablet, seq=one.seq
        )
        facts = {"meaning": sign.meaning, "reason": sign.reason or ""}
        if sign.verdict == "refused":
            yield Item("refused", sign.event, one.received_at, where, facts)
            continue
        tablet = found.tablets.get(one.tablet)
        gap = tablet is not None and tablet.contiguous < one.n - 1
        if gap or found.now - one.received_at > PROVISIONAL_LONG:
            yield Item("waiting", sign.event, one.received_at, where, facts | {"gap": gap})


def _asides(uow: UnitOfWork) -> Iterator[Item]:
    for one in uow.questions.asides():
        where = Where(tablet=one.tablet)
        yield Item("set-aside", one.hash, one.received_at, where, {"reason": one.reason})


def _of_setups(uow: UnitOfWork) -> Iterator[Item]:
    flagged = uow.questions.flagged()
    points = open_points.of_setups(uow, flagged)
    marked = _by_setup(uow.questions.marked(one.id for one in flagged))
    answers = {event for one in points.values() for _, ids in one.two_answers for event in ids}
    additions = {event for one in points.values() for event in one.additions}
    events = uow.events.found(answers | additions)
    for setup in flagged:
        own = points.get(setup.id)
        if own is not None:
            yield from _two_answers(setup, own, events)
            yield from _late(setup, own, events)
        now = own.flags if own is not None else frozenset()
        yield from _marks(setup, marked.get(setup.id, []), now)


def _by_setup(events: Sequence[Marked]) -> dict[str, list[Marked]]:
    found: dict[str, list[Marked]] = {}
    for one in events:
        found.setdefault(one.setup, []).append(one)
    return found


def _two_answers(
    setup: SetupSummary, points: open_points.OpenPoints, events: dict[str, StoredEvent]
) -> Iterator[Item]:
    for step, ids in points.two_answers:
        answers = [events[one] for one in ids if one in events]
        last = answers[-1]
        where = Where(setup.id, setup.plate, step, last.person, last.tablet, last.seq)
        facts = {"answers": list(ids), "people": _people(answers), "phase": setup.phase}
        yield Item("two-answers", f"{setup.id}/{last.id}", last.received_at, where, facts)


def _late(
    setup: SetupSummary, points: open_points.OpenPoints, events: dict[str, StoredEvent]
) -> Iterator[Item]:
    late = [events[one] for one in points.additions if one in events]
    if not late:
        return
    first, last = late[0], late[-1]
    where = Where(setup.id, setup.plate, None, last.person, last.tablet, first.seq)
    facts = {
        "records": [one.id for one in late],
        "people": _people(late),
        "signed_by": setup.signed_by,
    }
    yield Item("late", f"{setup.id}/{last.id}", first.received_at, where, facts)


def _marks(
    setup: SetupSummary, events: Sequence[Marked], of_the_fold: frozenset[str]
) -> Iterator[Item]:
    """Marks that no kind of item of its own speaks of, and the clock's."""
    clock = [one for one in events if "clock suspect" in one.flags]
    if clock:
        first = clock[0]
        where = Where(setup.id, setup.plate, first.step, first.person, first.tablet, first.seq)
        facts = {"records": [one.id for one in clock]}
        yield Item("clock", f"{setup.id}/{first.tablet}", first.received_at, where, facts)
    flags = sorted((set(setup.flags) - OWN_ITEM - open_points.FOLD_FLAGS) | of_the_fold)
    if flags:
        about = next((one for one in events if set(one.flags) & set(flags)), None)
        where = Where(
            setup.id,
            setup.plate,
            about.step if about else None,
            about.person if about else setup.person,
            about.tablet if about else setup.tablet,
            about.seq if about else None,
        )
        since = about.received_at if about else setup.last_at
        yield Item("marked", f"{setup.id}/{'+'.join(flags)}", since, where, {"flags": flags})


def _tablets(found: Gathering) -> Iterator[Item]:
    at_work = found.uow.questions.at_work()
    for one in found.tablets.values():
        where = Where(at_work.get(one.id), tablet=one.id)
        if one.forked_at is not None and one.revoked_at is None:
            yield Item("forked", one.id, one.forked_at, where)
        yield from _gap(found, one)
        if one.key is None or one.revoked_at is not None or office_log.is_office(one.id):
            continue
        owes = one.id in at_work or one.highest > one.contiguous
        away = found.now - one.last_seen
        if owes and away > silent_after(at_work=one.id in at_work):
            key = f"{one.id}/{one.last_seen:%Y%m%dT%H%M%S}"
            facts = {"at_work": one.id in at_work, "gap": one.highest > one.contiguous}
            yield Item("silent", key, one.last_seen, where, facts)


def _gap(found: Gathering, tablet: Tablet) -> Iterator[Item]:
    if tablet.highest <= tablet.contiguous:
        return
    arrived = found.uow.questions.numbers(tablet.id, tablet.contiguous, MOST_NUMBERS)
    ranges = missing_ranges(tablet.contiguous, list(arrived))
    if not ranges:
        return
    since = min(arrived[last + 1] for _, last in ranges)
    if found.now - since < GAP_STANDS:
        return
    missing = sum(last - first + 1 for first, last in ranges)
    key = f"{tablet.id}/{ranges[0][0]}-{ranges[-1][1]}-{missing}"
    facts = {"ranges": ranges, "missing": missing, "revoked": tablet.revoked_at is not None}
    yield Item("gap", key, since, Where(tablet=tablet.id), facts)


def _other_chains(uow: UnitOfWork) -> Iterator[Item]:
    for entry in uow.journal.of_kind("tablet saw another chain"):
        told = json.loads(entry.body)
        where = Where(tablet=told["tablet"], seq=told["seq"])
        facts = {"saw": told["saw"], "here": told["here"]}
        yield Item("other-chain", entry.subject, entry.at, where, facts)


def _people(events: Sequence[StoredEvent]) -> list[str]:
    return list(dict.fromkeys(one.person for one in events if one.person))
