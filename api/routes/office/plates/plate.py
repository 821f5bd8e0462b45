"""One plate: its state, what is open and due, its history, its label."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from fastapi.responses import Response
from markupsafe import Markup

from api.domain.records import Revision
from api.routes.office.asking import query_of
from api.routes.office.desk import Desk, DeskDep
from api.routes.office.forms import Form
from api.routes.office.plates.drawing import full
from api.routes.office.plates.listing import due_lines, newest_of, where_words
from api.routes.office.plates.qr import qr_svg
from api.use_cases import designs, plates, setups
from api.use_cases.plates import PlateInfo

router = APIRouter()
LAST_SETUPS = 12


@dataclass(frozen=True)
class UsualRow:
    point: str
    state: str
    median_mm: float
    n: int
    href: str


@router.get("/plates/{serial}")
def plate_page(desk: DeskDep, serial: str) -> Response:
    return show_plate(desk, serial, Form())


@router.get("/plates/{serial}/label")
def label(desk: DeskDep, serial: str) -> Response:
    info = plates.get_plate(desk.uow, serial)
    revision = released_of(desk, info)
    return desk.show(
        "plates/label.html",
        "Plates",
        info=info,
        title=revision.title if revision else "",
        qr=qr_svg(serial, f"QR code of plate {serial}"),
    )


def show_plate(desk: Desk, serial: str, form: Form, status: int = 200) -> Response:
    info = plates.get_plate(desk.uow, serial)
    revision = released_of(desk, info)
    history = setups.plate_history(desk.uow, serial, 1, LAST_SETUPS)
    return desk.show(
        "plates/plate.html",
        "Plates",
        status,
        form=form,
        info=info,
        revision=revision,
        drawing=_drawing(revision),
        due=due_lines(info, revision),
        care=(revision.sheet or {}).get("care", {}) if revision else {},
        where=where_words(info),
        usual=_usual(info),
        setups=history.items,
        total=history.total,
        holds=plates.plate_holds(desk.uow, serial),
        qr=qr_svg(serial, f"QR code of plate {serial}"),
    )


def released_of(desk: Desk, info: PlateInfo) -> Revision | None:
    return newest_of(designs.list_designs(desk.uow), info.design)


def _drawing(revision: Revision | None) -> Markup:
    return full(revision, revision.sheet) if revision and revision.sheet else Markup("")


def _usual(info: PlateInfo) -> list[UsualRow]:
    rows = []
    for key, usual in info.usual.items():
        point, _, state = key.partition("/")
        where = {"plate": info.serial, "point": point, "state": state}
        rows.append(UsualRow(point, state, usual.median_mm, usual.n, f"/readings{query_of(where)}"))
    return rows
