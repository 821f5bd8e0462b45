"""What a lead should look at: a record is taken as it is, and marked where it is out of order."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, field

from api.domain.events import NO_PREVIOUS, Event, at_utc, parse
from api.domain.people import Action, Person, may
from api.domain.records import StoredEvent, Tablet
from api.domain.stores import Indicator, Stores, TorqueTool
from api.use_cases.ports import UnitOfWork
from api.use_cases.records.folding import Folded, StepsOf
from api.use_cases.records.verdicts import SIGNING
from api.use_cases.stores import everything

CLOCK_MS = 120_000
CLOCK = dt.timedelta(milliseconds=CLOCK_MS)


@dataclass
class Reference:
    """What records are compared with, read once for a batch."""

    people: dict[str, Person]
    stores: Stores
    plates: dict[str, str]
    pulls: dict[str, int]
    hashes: dict[tuple[str, str], str]
    steps_of: StepsOf = field(repr=False)

    @classmethod
    def read(cls, uow: UnitOfWork, steps_of: StepsOf) -> Reference:
        return cls(
            people={one.badge: one for one in uow.people.all()},
            stores=everything(uow),
            plates={one.serial: one.design for one in uow.plates.all()},
            pulls=uow.setups.pulls(),
            hashes={
                (one.code, one.revision): one.hash
                for one in uow.designs.all()
                if one.state != "draft"
            },
            steps_of=steps_of,
        )


def flags_of(
    event: Event, received: dt.datetime, sender: str, known: Reference, folded: Folded
) -> tuple[str, ...]:
    """Flags that need no look at the log; `folded` has taken the event already."""
    day = min(at_utc(event), received).date()
    found = [
        *(["sent by another tablet"] if event.tablet != sender else []),
        *_about_person(event, known),
        *_about_clock(event, received),
        *_about_tool(event, day, known),
        *_about_indicator(event, day, known),
        *(_about_opening(event, known) if event.kind == "setup opened" else []),
        *_about_setup(event, folded),
    ]
    return tuple(dict.fromkeys(found))


def chain_flags(
    event: Event,
    own_hash: str,
    contiguous: int,
    before: StoredEvent | None,
    after: StoredEvent | None,
) -> list[str]:
    """Flags from the tablet's own chain: `before` and `after` are its neighbours, if here."""
    found = []
    if event.n > contiguous + 1:
        found.append("gap")
    expected = NO_PREVIOUS if event.n == 1 else before.hash if before else event.prev
    if event.prev != expected or (after is not None and parse(after.text).prev != own_hash):
        found.append("chain broken")
    if before is not None and at_utc(event) < before.at - CLOCK:
        found.append("clock suspect")
    return found


def tablet_flags(tablet: Tablet) -> Iterator[str]:
    """`tablet` made the record, whoever sent it."""
    if tablet.revoked_at is not None:
        yield "tablet revoked"
    if tablet.forked_at is not None:
        yield "tablet forked"


def _about_person(event: Event, known: Reference) -> Iterator[str]:
    if event.person is None:
        return
    person = known.people.get(event.person)
    if person is None:
        yield "unknown person"
        return
    if not person.active:
        yield "person inactive"
    action = Action.JUDGE if event.kind == "judged" else Action.SIGN
    needs_role = event.kind == "judged" or event.kind in SIGNING
    if needs_role and person.active and not may(person, action):
        yield "role lacking"


def _about_clock(event: Event, received: dt.datetime) -> Iterator[str]:
    off = abs(event.clock_offset or 0) > CLOCK_MS
    if off or at_utc(event) > received + CLOCK:
        yield "clock suspect"


def _about_tool(event: Event, day: dt.date, known: Reference) -> Iterator[str]:
    serial = event.data.get("tool")
    if event.kind == "setup opened":
        serial = event.data["frozen"]["tool"].get("serial")
    if serial is None:
        return
    tool = known.stores.tools.get(str(serial))
    if tool is None:
        yield "tool unknown"
    elif tool.state != "in use":
        yield "tool withdrawn"
    elif _overdue(tool, day, known):
        yield "tool overdue"


def _overdue(tool: TorqueTool, day: dt.date, known: Reference) -> bool:
    pulled = tool.pulls_before + known.pulls.get(tool.serial, 0)
    return day > tool.due or pulled > tool.pulls_limit


def _about_indicator(event: Event, day: dt.date, known: Reference) -> Iterator[str]:
    serial = event.data.get("indicator")
    if event.kind == "setup opened":
        serial = event.data["frozen"]["indicator"].get("serial")
    if serial is None:
        return
    indicator: Indicator | None = known.stores.indicators.get(str(serial))
    if indicator is None:
        yield "indicator unknown"
    elif indicator.state != "in use":
        yield "indicator withdrawn"
    elif day > indicator.due:
        yield "indicator overdue"


def _about_opening(event: Event, known: Reference) -> Iterator[str]:
    data = event.data
    if data["plate"] not in known.plates:
        yield "unknown plate"
    elif known.plates[data["plate"]] != data["design"]:
        yield "plate of another design"
    frozen = known.hashes.get((data["design"], data["revision"]))
    if frozen is None:
        yield "unknown revision"
    elif frozen != data["revision_hash"]:
        yield "revision differs"


def _about_setup(event: Event, folded: Folded) -> Iterator[str]:
    setup = folded.setup
    yield from (flag for about, flag in setup.flags if about == event.id)
    if event.id in setup.after_signature:
        yield "after signature"
    if event.id in setup.odd and setup.opened is not None:
        yield "fits nothing"
    if setup.second_wanted and event.kind == "step done" and event.step == "machine":
        yield "machined before the second signature"
    status = setup.steps.get(event.step or "")
    if status is not None and status.state == "two answers" and event.id in status.answers:
        yield "two answers"
