"""Loading a design file: checked first with its findings shown, then kept as a draft."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from fastapi.responses import Response

from api.domain.designs import Design, Finding, Reading
from api.domain.errors import Clash
from api.domain.people import Action, require
from api.routes.office.desk import Desk, DeskDep, Posted
from api.routes.office.forms import Form
from api.use_cases import designs

router = APIRouter()
FILE_NAME = "design.toml"


@dataclass(frozen=True)
class Checked:
    """What the checker said about the text in the form."""

    design: Design | None
    findings: list[Finding]
    stops: int


@router.get("/load-design")
def load_page(desk: DeskDep) -> Response:
    require(desk.person, Action.EDIT_DESIGNS)
    return _page(desk, Form(), None)


@router.post("/load-design")
def load(desk: DeskDep, form: Posted) -> Response:
    require(desk.person, Action.EDIT_DESIGNS)
    text: str | bytes = form.files.get("upload") or _as_in_a_file(form.values.get("text", ""))
    reading = designs.check_text(desk.uow, text, FILE_NAME)
    if form.text("step") == "load" and not reading.stops:
        return _keep(desk, form, text, reading)
    return _page(desk, form, reading, 422 if reading.stops else 200)


def _as_in_a_file(text: str) -> str:
    """A text field comes with the line ends of forms, which a file does not need."""
    return text.replace("\r\n", "\n")


def _keep(desk: Desk, form: Form, text: str | bytes, reading: Reading) -> Response:
    try:
        loaded = designs.load_design(desk.uow, desk.means, text, desk.person, FILE_NAME).revision
    except Clash as problem:
        form.refuse("text", problem.message)
        return _page(desk, form, reading, 409)
    if loaded is None:
        return _page(desk, form, reading, 422)
    said = f"{loaded.code} revision {loaded.revision} is loaded as a {loaded.state}."
    if loaded.state != "draft":
        said = f"{loaded.code} revision {loaded.revision} is {loaded.state} already, word for word."
    return desk.go(f"/designs/{loaded.code}/{loaded.revision}", said)


def _page(desk: Desk, form: Form, reading: Reading | None, status: int = 200) -> Response:
    upload = form.files.get("upload")
    if upload is not None:
        form.values["text"] = upload.decode("utf-8-sig", "replace")
    checked = reading and Checked(reading.design, reading.findings, len(reading.stops))
    return desk.show("plates/load.html", "Plates", status, form=form, checked=checked)
