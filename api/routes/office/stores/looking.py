"""Shelves and items to read, and every setup a torque tool has touched."""

from __future__ import annotations

import datetime as dt
from typing import Any

from fastapi import APIRouter
from fastapi.responses import RedirectResponse, Response

from api.domain.records import ItemVersion, Page, SetupFilter, SetupSummary
from api.routes.office import asking
from api.routes.office.desk import Desk, DeskDep
from api.routes.office.formatting import count, day
from api.routes.office.forms import Form
from api.routes.office.stores.facts import changes, reading_of
from api.routes.office.stores.shelves import (
    COLUMNS,
    SHELVES,
    Shelf,
    row_of,
    shelf_of,
    state_of,
)
from api.use_cases import setups, stores

router = APIRouter()
PER_PAGE = 25
FIRST_SHELF = "tool"


@router.get("/stores")
def first() -> Response:
    return RedirectResponse(f"/stores/{FIRST_SHELF}", 303)


@router.get("/stores/{kind}")
def shelf_page(desk: DeskDep, kind: str) -> Response:
    shelf = shelf_of(kind)
    rows = [row_of(one, today()) for one in stores.list_items(desk.uow, shelf.kind)]
    return desk.show(
        "stores/shelf.html",
        "Stores",
        shelf=shelf,
        shelves=list(SHELVES.values()),
        columns=COLUMNS[kind],
        rows=rows,
    )


@router.get("/stores/{kind}/{key}")
def item_page(desk: DeskDep, kind: str, key: str) -> Response:
    shelf = shelf_of(kind)
    stored = stores.get_item(desk.uow, shelf.kind, key)
    reading = reading_of(stored.item, stored.pulls)
    used, more = _used(desk, key) if shelf.kind == "tool" else (None, _unused())
    return desk.show(
        "stores/item.html",
        "Stores",
        200 if more["form"].fine else 400,
        shelf=shelf,
        key=key,
        title=reading.title,
        facts=reading.facts,
        state=state_of(stored.item, stored.pulls, today()),
        withdrawn=stored.item.state == "withdrawn",
        version=stored.version,
        versions=_versions(desk, shelf, key),
        used=used.items if used else [],
        **more,
    )


def today() -> dt.date:
    return dt.datetime.now().astimezone().date()


def _versions(desk: Desk, shelf: Shelf, key: str) -> list[dict[str, Any]]:
    history = stores.item_history(desk.uow, shelf.kind, key)
    older: list[ItemVersion | None] = [*history[1:], None]
    return [
        {
            "n": one.n,
            "by": one.by,
            "at": one.at,
            "changes": changes(before.body if before else None, one.body),
        }
        for one, before in zip(history, older, strict=True)
    ]


def _unused() -> dict[str, Any]:
    return {"form": Form(), "says": "", "query": "", "pages": None}


def _used(desk: Desk, key: str) -> tuple[Page[SetupSummary], dict[str, Any]]:
    """The setups in which the tool was used, in the time asked for."""
    form = asking.ask(desk.request.query_params, ("since", "until"))
    since, until = asking.dates_of(form)
    page = asking.page_of(desk.request.query_params)
    if not form.fine:
        return Page([], 1, PER_PAGE, 0), {**_unused(), "form": form}
    wanted = SetupFilter(tool=key, since=since, until=until)
    found = setups.find_setups(desk.uow, wanted, page, PER_PAGE)
    asking.refuse_empty_page(found)
    asked = {**form.values, "tool": key}
    return found, {
        "form": form,
        "says": _says(desk, wanted, found),
        "query": asking.query_of(asked),
        "pages": asking.links(found, f"/stores/tool/{key}", form.values, "setup"),
    }


def _says(desk: Desk, wanted: SetupFilter, found: Page[SetupSummary]) -> str:
    """How far this tool reaches: setups, plates, first and last day."""
    every = _every(desk, wanted, found.total)
    if not every:
        return ""
    serials = sorted({one.plate for one in every})
    days = sorted(one.opened_at for one in every)
    plates = f"{count(len(serials), 'plate')} ({', '.join(serials)})"
    return f"{count(len(every), 'setup')} on {plates}, from {day(days[0])} to {day(days[-1])}."


def _every(desk: Desk, wanted: SetupFilter, total: int) -> list[SetupSummary]:
    most = setups.MOST_PER_PAGE
    pages = range(1, -(-total // most) + 1)
    return [one for page in pages for one in setups.find_setups(desk.uow, wanted, page, most).items]
