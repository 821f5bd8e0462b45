"""What a lead records at the desk: events of the office's own chain, taken in like any tablet's."""

from __future__ import annotations

import datetime as dt
import json
from typing import Any

from api.domain.errors import BadInput, Clash
from api.domain.events import NO_PREVIOUS, SCHEMA, hash_of, signed_text
from api.domain.people import Action, Person, require
from api.domain.records import Tablet
from api.use_cases.ports import Means, UnitOfWork
from api.use_cases.ports.office import OfficePen
from api.use_cases.records import BY_CALLER, Result, accept_events

NAME = "Office"
BUILD = "office"
PREFIX = "office-"


def is_office(tablet: str) -> bool:
    """Whether records under this name were made at a desk; tablets are named by a UUID."""
    return tablet.startswith(PREFIX)


def write(
    uow: UnitOfWork,
    means: Means,
    pen: OfficePen,
    by: Person,
    setup: str,
    kind: str,
    data: dict[str, Any],
    step: str | None = None,
) -> Result:
    """One more event in the name of the person; the caller's transaction is open, and commits.

    Raises `BadInput` when the record cannot be taken as it is.
    """
    require(by, Action.SETTLE)
    uow.events.lock()
    now = means.clock.now()
    office = _enrolled(uow, pen, by, now)
    before = uow.events.at(office.id, office.highest)
    text = json.dumps(
        {
            "id": pen.new_id(int(now.timestamp() * 1000)),
            "tablet": office.id,
            "n": office.highest + 1,
            "prev": before.hash if before else NO_PREVIOUS,
            "setup": setup,
            "kind": kind,
            "step": step,
            "person": by.badge,
            "data": data,
            "at": now.astimezone(dt.UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z"),
            "elapsed": pen.elapsed_ms(),
            "clock_offset": 0,
            "schema": SCHEMA,
            "build": BUILD,
        },
        ensure_ascii=False,
        separators=(",", ":"),
    )
    sig = pen.sign(signed_text(hash_of(text)))
    taken = accept_events(uow, means, office.id, BUILD, [text], [sig], policy=BY_CALLER)
    result = taken.results[0]
    if result.outcome != "stored":
        raise BadInput(result.message or "The record could not be taken.")
    return result


def _enrolled(uow: UnitOfWork, pen: OfficePen, by: Person, now: dt.datetime) -> Tablet:
    """The office as a tablet of its own, let in by whoever writes there first."""
    known = uow.tablets.get(pen.tablet)
    if known is not None and known.revoked_at is not None:
        raise Clash(
            "The office's key was revoked under Crew. Take office.pem out of the keys folder and "
            "start the server again; the office then goes on under a new key."
        )
    if known is not None:
        return known
    fresh = Tablet(
        pen.tablet,
        now,
        now,
        BUILD,
        contiguous=0,
        highest=0,
        name=NAME,
        key=pen.public,
        enrolled_at=now,
        enrolled_by=by.badge,
    )
    uow.tablets.save(fresh)
    told = {"tablet": pen.tablet, "name": NAME, "key": pen.public, "code made by": by.badge}
    uow.journal.add("tablet enrolled", pen.tablet, told, now, by.badge)
    return fresh
