"""Adding a plate, holding it with a reason, and freeing it."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from api.domain.errors import BadInput, Clash, NotFound
from api.domain.people import Action, require
from api.routes.office.desk import Desk, DeskDep, Posted
from api.routes.office.forms import Form
from api.routes.office.plates.plate import show_plate
from api.use_cases import designs, plates

router = APIRouter()


@router.get("/add-plate")
def add_page(desk: DeskDep) -> Response:
    require(desk.person, Action.ADD_PLATE)
    return _form(desk, Form())


@router.post("/add-plate")
def add(desk: DeskDep, form: Posted) -> Response:
    require(desk.person, Action.ADD_PLATE)
    serial = form.text("serial")
    try:
        plates.add_plate(desk.uow, serial, form.text("design"), desk.person, form.text("note"))
    except (BadInput, Clash, NotFound) as problem:
        form.refuse(str(problem.where.get("field", "")), problem.message)
        return _form(desk, form, 422)
    return desk.go(
        f"/plates/{serial}", f"Plate {serial} is added. Print its label and fix it to the plate."
    )


@router.post("/plates/{serial}/hold")
def hold(desk: DeskDep, serial: str, form: Posted) -> Response:
    try:
        plates.hold_plate(desk.uow, desk.means, serial, form.text("reason"), desk.person)
    except BadInput as problem:
        form.refuse("reason", problem.message)
        return show_plate(desk, serial, form, 422)
    return desk.go(f"/plates/{serial}", f"Plate {serial} is held. The bench shows the reason.")


@router.post("/plates/{serial}/free")
def free(desk: DeskDep, serial: str, form: Posted) -> Response:
    plates.free_plate(desk.uow, desk.means, serial, desk.person)
    return desk.go(f"/plates/{serial}", f"Plate {serial} is free.")


def _form(desk: Desk, form: Form, status: int = 200) -> Response:
    known = [(one.code, f"{one.code}, {one.title}") for one in designs.list_designs(desk.uow)]
    return desk.show("plates/add.html", "Plates", status, form=form, designs=known)
