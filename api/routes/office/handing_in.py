"""Handing in the file of a tablet that cannot send its records itself any more."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path
from fastapi.responses import Response

from api.deps import SettingsDep
from api.domain.errors import BadInput
from api.domain.people import Action, require
from api.routes.office.desk import Desk, DeskDep, Posted
from api.routes.office.formatting import count
from api.routes.office.forms import Form
from api.routes.office.inbox.words import NameOf, naming, plain_reason
from api.use_cases import handing_in, tablets
from api.use_cases.handing_in import HandedIn

router = APIRouter()
HERE = "Crew"
FIELD = "upload"
Number = Annotated[int, Path(ge=1, lt=2**53)]


@router.get("/hand-in")
def hand_in_page(desk: DeskDep, settings: SettingsDep) -> Response:
    require(desk.person, Action.SETTLE)
    return _page(desk, settings.max_body_bytes, Form())


@router.post("/hand-in")
def hand_in(desk: DeskDep, settings: SettingsDep, form: Posted) -> Response:
    require(desk.person, Action.SETTLE)
    try:
        content = form.files.get(FIELD)
        if content is None:
            raise BadInput("Choose the file that was saved at the tablet.", field=FIELD)
        handed = handing_in.hand_in(desk.uow, desk.means, content, desk.person)
    except BadInput as problem:
        form.refuse(FIELD, problem.message)
        return _page(desk, settings.max_body_bytes, form, 422)
    desk.request.app.state.watch.nudge()
    return desk.go(f"/handed-in/{handed.entry.seq}", _said(handed))


@router.get("/handed-in/{number}")
def handed_in(desk: DeskDep, number: Number) -> Response:
    told = handing_in.look(desk.uow, number, desk.person)
    return desk.show(
        "crew/handed_in.html",
        HERE,
        one=told.handed,
        setups=told.setups,
        asides=[(one.hash, plain_reason(one.reason)) for one in told.asides],
        name=_names(desk)(told.handed.tablet),
    )


def _said(handed: HandedIn) -> str:
    if handed.stored:
        return f"{count(handed.stored, 'record')} stored."
    return "Nothing could be stored." if not handed.already else "Nothing was new."


def _page(desk: Desk, most_bytes: int, form: Form, status: int = 200) -> Response:
    name_of = _names(desk)
    before = handing_in.list_handed_in(desk.uow, desk.person)
    return desk.show(
        "crew/hand_in.html",
        HERE,
        status,
        form=form,
        most_bytes=most_bytes,
        before=[(one, name_of(one.tablet)) for one in before],
    )


def _names(desk: Desk) -> NameOf:
    known = tablets.list_tablets(desk.uow, desk.person)
    return naming({one.tablet.id: one.tablet.name for one in known})
