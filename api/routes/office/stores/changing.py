"""Adding, changing, withdrawing and returning items of the stores."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response

from api.domain.errors import BadInput, Clash, NotFound
from api.domain.people import Action, require
from api.domain.stores import ItemKind, key_of
from api.routes.office.desk import Desk, DeskDep, Posted
from api.routes.office.forms import Form
from api.routes.office.stores import fields
from api.routes.office.stores.shelves import Shelf, shelf_of
from api.use_cases import stores

router = APIRouter()


@router.get("/stores/add/{kind}")
def add_page(desk: DeskDep, kind: str) -> Response:
    shelf = shelf_of(kind)
    require(desk.person, Action.EDIT_STORES)
    return _form(desk, shelf, Form(dict(fields.STARTS[shelf.kind])), key="")


@router.post("/stores/add/{kind}")
def add(desk: DeskDep, kind: str, form: Posted) -> Response:
    shelf = shelf_of(kind)
    require(desk.person, Action.EDIT_STORES)
    item = fields.checked(shelf.kind, form)
    if item is not None and _exists(desk, shelf.kind, key_of(item)):
        form.refuse(
            shelf.key_word, f"There is one with this {shelf.key_word} already; change that one."
        )
        item = None
    if item is None:
        return _form(desk, shelf, form, key="", status=422)
    stores.save_item(desk.uow, desk.means, shelf.kind, item.model_dump(mode="json"), desk.person)
    return desk.go(
        f"/stores/{kind}/{key_of(item)}", f"{shelf.One} {key_of(item)} is in the stores."
    )


@router.get("/stores/{kind}/{key}/change")
def change_page(desk: DeskDep, kind: str, key: str) -> Response:
    shelf = shelf_of(kind)
    require(desk.person, Action.EDIT_STORES)
    version = stores.get_item(desk.uow, shelf.kind, key).version
    return _form(desk, shelf, Form(fields.typed(shelf.kind, version.body)), key=key)


@router.post("/stores/{kind}/{key}/change")
def change(desk: DeskDep, kind: str, key: str, form: Posted) -> Response:
    shelf = shelf_of(kind)
    require(desk.person, Action.EDIT_STORES)
    before = stores.get_item(desk.uow, shelf.kind, key)
    form.values[shelf.key_word] = key
    item = fields.checked(shelf.kind, form)
    if item is None:
        return _form(desk, shelf, form, key=key, status=422)
    body = item.model_dump(mode="json") | {"state": before.item.state}
    saved = stores.save_item(desk.uow, desk.means, shelf.kind, body, desk.person)
    same = saved.version.n == before.version.n
    said = (
        "Nothing was different; no new version." if same else f"Saved as version {saved.version.n}."
    )
    return desk.go(f"/stores/{kind}/{key}", said)


@router.post("/stores/{kind}/{key}/withdraw")
def withdraw(desk: DeskDep, kind: str, key: str, form: Posted) -> Response:
    _put(desk, shelf_of(kind), key, "withdrawn")
    return desk.go(f"/stores/{kind}/{key}", f"{key} is withdrawn; the bench no longer offers it.")


@router.post("/stores/{kind}/{key}/return")
def put_back(desk: DeskDep, kind: str, key: str, form: Posted) -> Response:
    _put(desk, shelf_of(kind), key, "in use")
    return desk.go(f"/stores/{kind}/{key}", f"{key} is back in use.")


def _put(desk: Desk, shelf: Shelf, key: str, state: str) -> None:
    require(desk.person, Action.EDIT_STORES)
    before = stores.get_item(desk.uow, shelf.kind, key)
    if before.item.state == state:
        raise Clash(f"{shelf.One} {key} is {state} already.", key=key)
    body: dict[str, Any] = before.item.model_dump(mode="json") | {"state": state}
    stores.save_item(desk.uow, desk.means, shelf.kind, body, desk.person)


def _exists(desk: Desk, kind: ItemKind, key: str) -> bool:
    try:
        stores.get_item(desk.uow, kind, key)
    except (NotFound, BadInput):
        return False
    return True


def _form(desk: Desk, shelf: Shelf, form: Form, *, key: str, status: int = 200) -> Response:
    leave = f"/stores/{shelf.kind}/{key}" if key else f"/stores/{shelf.kind}"
    return desk.show(
        "stores/form.html",
        "Stores",
        status,
        shelf=shelf,
        form=form,
        key=key,
        heading=f"Change {key}" if key else f"Add {shelf.one}",
        rows=fields.rows_for(shelf.kind, with_key=not key),
        leave=leave,
    )
