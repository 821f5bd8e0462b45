"""What a lead adds to a setup from the desk; each is a record like any other."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from api.deps import OfficeDep
from api.domain.errors import BadInput
from api.domain.people import Action, require
from api.domain.setups import Setup
from api.domain.setups.current import OVER
from api.routes.office.desk import Desk, DeskDep, Posted
from api.routes.office.formatting import unit
from api.routes.office.forms import Form
from api.routes.office.logbook.words import step_id_words
from api.use_cases import office_records, setups
from api.use_cases.inbox.settling import reason_of
from api.use_cases.ports.office import OfficePen

router = APIRouter()
DEEDS = {
    "note": "The note is recorded.",
    "correct": "The correction is recorded; the first value stays readable.",
    "open": "The step is open again; its record stays.",
    "abandon": "The setup is abandoned.",
}
FIELDS = {
    "note": {"text": "note"},
    "correct": {"refers": "reading", "value": "value", "unit": "unit", "reason": "why"},
    "open": {"refers": "step", "reason": "why_open"},
    "abandon": {"reason": "why_end"},
}
UNITS = [("mm", "mm"), ("in", "in")]
Choices = list[tuple[str, str]]


@router.get("/setups/{setup_id}/add")
def adding(desk: DeskDep, setup_id: str) -> Response:
    require(desk.person, Action.SETTLE)
    return _show(desk, setup_id, Form())


@router.post("/setups/{setup_id}/add")
def add(desk: DeskDep, pen: OfficeDep, setup_id: str, form: Posted) -> Response:
    require(desk.person, Action.SETTLE)
    deed = form.text("deed")
    try:
        _do(desk, pen, setup_id, form, deed)
    except BadInput as problem:
        name = FIELDS.get(deed, {}).get(str(problem.where.get("field", "")), "")
        form.refuse(name, problem.message)
        return _show(desk, setup_id, form, 422)
    return desk.go(f"/setups/{setup_id}", DEEDS[deed])


def _do(desk: Desk, pen: OfficePen, setup: str, form: Form, deed: str) -> None:
    uow, means, by = desk.uow, desk.means, desk.person
    if deed == "note":
        office_records.add_note(uow, means, pen, setup, form.text("note"), by)
    elif deed == "correct":
        refers, value = form.text("reading"), form.text("value")
        why = reason_of(form.text("why"))
        office_records.correct_reading(
            uow, means, pen, setup, refers, value, form.text("unit"), why, by
        )
    elif deed == "open":
        why = reason_of(form.text("why_open"))
        office_records.open_step(uow, means, pen, setup, form.text("step"), why, by)
    elif deed == "abandon":
        office_records.abandon(uow, means, pen, setup, reason_of(form.text("why_end")), by)
    else:
        raise BadInput(f"There is nothing called '{deed[:40]}' to do here.")


def _show(desk: Desk, setup_id: str, form: Form, status: int = 200) -> Response:
    record = setups.get_setup(desk.uow, setup_id)
    form.values.setdefault("unit", "mm")
    form.labels = {
        "note": "Note",
        "reading": "Reading",
        "value": "New value",
        "why": "Reason for the correction",
        "step": "Step",
        "why_open": "Reason to open it again",
        "why_end": "Reason to abandon it",
    }
    return desk.show(
        "inbox/add.html",
        "Logbook",
        status,
        setup=setup_id,
        plate=record.summary.plate if record.summary else "not known",
        opened=record.state.opened_at,
        readings=_readings(record.state),
        steps=_steps(record.state),
        signed=bool(record.state.valid_signatures),
        over=record.state.phase in OVER,
        phase=record.state.phase,
        units=UNITS,
        form=form,
    )


def _readings(setup: Setup) -> Choices:
    return [
        (one.final.event, f"{one.point}, {one.state}: {one.final.value} {unit(one.final.unit)}")
        for one in setup.readings.values()
        if one.final is not None
    ]


def _steps(setup: Setup) -> Choices:
    """Steps that are done, latest first."""
    found = [
        (status.event, step_id_words(step))
        for step, status in setup.steps.items()
        if status.event and not status.undone and step not in ("sign", "judge")
    ]
    return list(reversed(found))
