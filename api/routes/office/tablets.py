"""Tablets on the crew's screens: let in by a code, named, revoked; and the shop's key for PINs."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from api.deps import OriginDep
from api.domain.errors import BadInput, NotFound
from api.domain.people import Action, require
from api.routes.office.crew import confirmed
from api.routes.office.desk import Desk, DeskDep, Posted
from api.routes.office.forms import Form
from api.routes.office.plates.qr import qr_svg
from api.use_cases import keys, tablets

router = APIRouter()


@router.get("/add-tablet")
def add_page(desk: DeskDep) -> Response:
    require(desk.person, Action.ENROL_TABLET)
    return desk.show("crew/add_tablet.html", "Crew", form=Form())


@router.post("/add-tablet")
def add(desk: DeskDep, form: Posted, origin: OriginDep) -> Response:
    """The code stands on this one answer and nowhere else."""
    require(desk.person, Action.ENROL_TABLET)
    try:
        made = tablets.make_code(desk.uow, desk.means, form.text("name"), desk.person)
    except BadInput as problem:
        form.refuse("name", problem.message)
        return desk.show("crew/add_tablet.html", "Crew", 422, form=form)
    here = origin or str(desk.request.base_url).rstrip("/")
    link = f"{here}/bench#enrol={tablets.plain_code(made.code)}"
    return desk.show(
        "crew/code.html",
        "Crew",
        made=made,
        minutes=int(tablets.CODE_HOLDS.total_seconds()) // 60,
        link=link,
        qr=qr_svg(link, f"Link that enrols {made.name}"),
    )


@router.get("/tablets/{tablet}")
def tablet_page(desk: DeskDep, tablet: str) -> Response:
    require(desk.person, Action.ENROL_TABLET)
    return _show(desk, tablet, Form())


@router.post("/tablets/{tablet}/name")
def rename(desk: DeskDep, tablet: str, form: Posted) -> Response:
    require(desk.person, Action.ENROL_TABLET)
    try:
        tablets.rename(desk.uow, tablet, form.text("name"), desk.person)
    except BadInput as problem:
        form.refuse("name", problem.message)
        return _show(desk, tablet, form, 422)
    return desk.go("/crew#tablets", f"The tablet is now called {form.text('name')}.")


@router.post("/tablets/{tablet}/revoke")
def revoke(desk: DeskDep, tablet: str, form: Posted) -> Response:
    require(desk.person, Action.ENROL_TABLET)
    try:
        tablets.revoke(desk.uow, desk.means, tablet, form.text("reason"), desk.person)
    except BadInput as problem:
        form.refuse("reason", problem.message)
        return _show(desk, tablet, form, 422)
    return desk.go("/crew#tablets", "The tablet is revoked; its sessions have ended.")


@router.get("/new-key")
def key_page(desk: DeskDep) -> Response:
    require(desk.person, Action.ROTATE_KEY)
    return _key(desk, Form())


@router.post("/new-key")
def new_key(desk: DeskDep, form: Posted) -> Response:
    require(desk.person, Action.ROTATE_KEY)
    if not confirmed(desk, form, "yours"):
        return _key(desk, form, 422)
    made = keys.rotate_sealing_key(desk.uow, desk.means, desk.person)
    return desk.go("/crew", f"PINs are sealed to the new key {made} from now on.")


def _key(desk: Desk, form: Form, status: int = 200) -> Response:
    key = keys.sealing_key(desk.uow, desk.means)
    return desk.show("crew/key.html", "Crew", status, key=key, form=form)


def _show(desk: Desk, tablet: str, form: Form, status: int = 200) -> Response:
    known = tablets.list_tablets(desk.uow, desk.person)
    found = next((one for one in known if one.tablet.id == tablet), None)
    if found is None:
        raise NotFound(f"There is no tablet '{tablet[:64]}'.", tablet=tablet[:64])
    form.values.setdefault("name", found.tablet.name)
    return desk.show("crew/tablet.html", "Crew", status, one=found, form=form)
