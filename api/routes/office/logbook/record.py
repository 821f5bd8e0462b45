"""One setup as a readable record: everything that was recorded, in order, with what it means."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response

from api.domain.records import SetupSummary, StoredEvent, StoredSignature
from api.domain.setups import counted_steps, unsigned_additions
from api.domain.setups.state import Reading, ReadingEntry
from api.routes.office.asking import query_of
from api.routes.office.deciding import decided_of
from api.routes.office.desk import Desk, DeskDep
from api.routes.office.formatting import iso, limits, unit
from api.routes.office.logbook.listing import row_of
from api.routes.office.logbook.telling import Line, data_of, lines_of
from api.routes.office.logbook.tightening import tightening_of
from api.routes.office.tables import csv_answer, json_answer
from api.use_cases import inbox, setups
from api.use_cases.checkpoints import newest_checkpoint
from api.use_cases.setups import SetupRecord

router = APIRouter()
UNKNOWN = "not known"
COLUMNS = (
    "seq",
    "at_utc",
    "person",
    "kind",
    "step",
    "what",
    "value",
    "details",
    "flags",
    "tablet",
    "n",
    "event",
    "hash",
)


@dataclass(frozen=True)
class Signed:
    """A signature as the record shows it, with the span of records it covers."""

    meaning: str
    person: str
    at: Any
    verdict: str
    reason: str | None
    covers: int
    first_seq: int | str
    last_seq: int | str
    hash: str


@dataclass(frozen=True)
class ReadingLine:
    """A point in one state: first and second entry, corrections, and the value that counts."""

    point: str
    state: str
    limits: str
    first: str
    second: str
    corrected: str
    counts: str
    out: bool
    judged: bool
    href: str


@router.get("/setups/{setup_id}.csv")
def record_csv(desk: DeskDep, setup_id: str) -> Response:
    record = _record(desk, setup_id)
    return csv_answer([_row(line) for line in _lines(record)], COLUMNS, f"setup-{setup_id[:13]}")


@router.get("/setups/{setup_id}.json")
def record_json(desk: DeskDep, setup_id: str) -> Response:
    record = _record(desk, setup_id)
    document = {
        "setup": row_of(_summary(record)),
        "made_with": _made_with(record),
        "readings": [vars(one) | {"href": None} for one in _readings(record)],
        "signatures": [vars(one) | {"at": iso(one.at)} for one in _signed(record)],
        "records": [_row(line) for line in _lines(record)],
    }
    return json_answer(document, f"setup-{setup_id[:13]}")


@router.get("/setups/{setup_id}")
def record_page(desk: DeskDep, setup_id: str) -> Response:
    record = _record(desk, setup_id)
    counted = counted_steps(record.state)
    kinds = [event.kind for event in _stored(record)]
    tightening = tightening_of(record.state, _stored(record))
    made = _made_with(record)
    return desk.show(
        "logbook/record.html",
        "Logbook",
        one=_summary(record),
        done=sum(
            not record.state.steps[step["id"]].undone
            for step in counted
            if step["id"] in record.state.steps
        ),
        total=len(counted),
        interruptions=kinds.count("paused"),
        take_overs=kinds.count("taken over"),
        corrections=kinds.count("correction"),
        checkpoint=newest_checkpoint(desk.uow),
        revision_hash=made["revision_hash"],
        frozen_tool=made["torque_tool"],
        frozen_indicator=made["indicator"],
        people=list(dict.fromkeys(event.person for event in _stored(record) if event.person)),
        tablets=list(dict.fromkeys(event.tablet for event in _stored(record))),
        signatures=_signed(record),
        second_wanted=record.state.second_wanted,
        additions=len(unsigned_additions(record.state)),
        decided=_decided(desk, setup_id),
        conflicts=sum(one.state == "two answers" for one in record.state.steps.values()),
        readings=_readings(record),
        clamps=tightening.rows,
        clamp_columns=tightening.columns,
        events=_lines(record),
        latest=max(_late_ms(event) for event in _stored(record)),
        known=record.summary is not None,
        last_hash=_stored(record)[-1].hash,
    )


def _decided(desk: Desk, setup_id: str) -> list[dict[str, Any]]:
    """What a lead decided about this setup's late records, conflicts and marks."""
    found = inbox.settlements_of_setup(desk.uow, setup_id)
    return [{**decided_of(one), "by": one.by, "at": one.at, "reason": one.reason} for one in found]


def _record(desk: Desk, setup_id: str) -> SetupRecord:
    return setups.get_setup(desk.uow, setup_id)


def _stored(record: SetupRecord) -> list[StoredEvent]:
    return [one.stored for one in record.events]


def _late_ms(event: StoredEvent) -> float:
    """How long after the tap the record reached the server; a clock that ran ahead counts as none."""
    return max(0.0, (event.received_at - event.at).total_seconds() * 1000)


def _summary(record: SetupRecord) -> SetupSummary:
    """The projection; a stand-in from the records that are here while the opening one is not."""
    if record.summary is not None:
        return record.summary
    first, last = record.events[0].stored, record.events[-1].stored
    return SetupSummary(
        id=record.id,
        plate=UNKNOWN,
        design=UNKNOWN,
        revision=UNKNOWN,
        phase=record.state.phase,
        opened_at=first.at,
        opened_by=None,
        last_at=last.at,
        last_seq=last.seq,
        events=len(record.events),
        tablet=last.tablet,
        person=last.person,
        step=last.step,
        tool=None,
        indicator=None,
        judgement=None,
        signed_by=None,
        signature=None,
        greased=False,
        baseline=False,
        movers=0,
    )


def _lines(record: SetupRecord) -> list[Line]:
    return lines_of(_stored(record), record.signatures, record.state.after_signature)


def _row(line: Line) -> dict[str, Any]:
    return {
        "seq": line.seq,
        "at_utc": iso(line.at),
        "person": line.person,
        "kind": line.kind,
        "step": line.step,
        "what": line.what,
        "value": line.value,
        "details": [*line.more, *(link.words for link in line.links)],
        "flags": line.flags,
        "tablet": line.tablet,
        "n": line.n,
        "event": line.id,
        "hash": line.hash,
    }


def _made_with(record: SetupRecord) -> dict[str, str]:
    opened = record.state.opened or {}
    frozen = opened.get("frozen", {})
    return {
        "revision_hash": str(opened.get("revision_hash", "")),
        "torque_tool": _item(frozen.get("tool", {})),
        "indicator": _item(frozen.get("indicator", {})),
    }


def _item(item: dict[str, Any]) -> str:
    serial = str(item.get("serial", "not recorded"))
    due = f", due {item['due']}" if item.get("due") else ""
    return f"{serial} {item.get('title', '')}{due}".strip()


def _signed(record: SetupRecord) -> list[Signed]:
    stored = {one.event: one for one in record.signatures}
    seq_of = {event.id: event.seq for event in _stored(record)}
    return [
        _sign(data_of(event), event.at, stored[event.id], seq_of)
        for event in _stored(record)
        if event.id in stored
    ]


def _sign(data: dict[str, Any], at: Any, one: StoredSignature, seq_of: dict[str, int]) -> Signed:
    covers = data["covers"]
    known = [seq_of[event] for event in covers["events"] if event in seq_of]
    return Signed(
        meaning=one.meaning,
        person=one.person,
        at=at,
        verdict=one.verdict,
        reason=one.reason,
        covers=len(covers["events"]),
        first_seq=min(known, default="not here"),
        last_seq=max(known, default="not here"),
        hash=covers["hash"],
    )


def _readings(record: SetupRecord) -> list[ReadingLine]:
    plan = {step["id"]: step for step in record.state.plan}
    return [
        _reading(record, one, plan[key]["limits"])
        for key, one in record.state.readings.items()
        if key in plan
    ]


def _reading(record: SetupRecord, reading: Reading, bounds: dict[str, float] | None) -> ReadingLine:
    fresh = [one for one in reading.entries if one.corrects is None]
    seconds = [one for one in fresh if one.entry == 2]
    firsts = [one for one in fresh if one.entry == 1]
    fixed = [one for one in reading.entries if one.corrects is not None]
    final = reading.final
    where = {"plate": _summary(record).plate, "point": reading.point, "state": reading.state}
    return ReadingLine(
        point=reading.point,
        state=reading.state,
        limits=limits(bounds["low"], bounds["high"]) if bounds else "no limit",
        first=_said(firsts),
        second=_said(seconds) or "not asked",
        corrected=_said(fixed) or "none",
        counts=_said([final]) if final else "open",
        out=final.out if final else False,
        judged=bounds is not None,
        href=f"/readings{query_of(where)}",
    )


def _said(entries: list[ReadingEntry]) -> str:
    return ", ".join(f"{one.value} {unit(one.unit)}" for one in entries)
