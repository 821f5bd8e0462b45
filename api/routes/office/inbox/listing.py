"""The list of what is to settle, and the list of what was decided."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response

from api.domain.inbox import KINDS, Item, ItemKind
from api.routes.office import asking
from api.routes.office.deciding import PATH, TITLES, decided_of, href_of
from api.routes.office.desk import Desk, DeskDep
from api.routes.office.inbox.words import GRADE_WORDS, SHAPES, NameOf, naming, tell
from api.routes.office.logbook.words import step_id_words
from api.use_cases import inbox, tablets
from api.use_cases.inbox.looking import kind_of

router = APIRouter()
HERE = "To settle"


@dataclass(frozen=True, slots=True)
class Row:
    """An item as the list shows it."""

    href: str
    title: str
    grade: str
    shape: str
    urgent: bool
    what: str
    do: str
    since: Any
    setup: str | None
    setup_href: str | None
    plate: str | None
    step: str | None
    person: str | None
    tablet: str | None


@dataclass(frozen=True, slots=True)
class Sieve:
    """One kind to choose from above the list."""

    words: str
    href: str
    amount: int
    chosen: bool


@router.get("/to-settle")
def to_settle(desk: DeskDep) -> Response:
    query = desk.request.query_params
    form = asking.ask(query, ("kind",))
    kind = kind_of(form.text("kind")) if form.text("kind") else None
    listed = inbox.list_items(desk.uow, desk.means, desk.person, kind, asking.page_of(query))
    asking.refuse_empty_page(listed.page)
    name_of = names(desk)
    return desk.show(
        "inbox/list.html",
        HERE,
        rows=[row_of(one, name_of) for one in listed.page.items],
        sieves=_sieves(listed.amounts, kind),
        kind=TITLES[kind] if kind else "",
        total=sum(listed.amounts.values()),
        pages=asking.links(listed.page, PATH, {"kind": kind}, "item"),
    )


@router.get("/settled")
def settled(desk: DeskDep) -> Response:
    found = inbox.list_settled(desk.uow, desk.person, asking.page_of(desk.request.query_params))
    asking.refuse_empty_page(found)
    return desk.show(
        "inbox/settled.html",
        HERE,
        decisions=[(one, decided_of(one)) for one in found.items],
        pages=asking.links(found, "/settled", {}, "decision"),
    )


def names(desk: Desk) -> NameOf:
    found = tablets.list_tablets(desk.uow, desk.person)
    return naming({one.tablet.id: one.tablet.name for one in found})


def row_of(item: Item, name_of: NameOf) -> Row:
    words, where = tell(item, name_of), item.where
    return Row(
        href=href_of(item.kind, item.key),
        title=TITLES[item.kind],
        grade=GRADE_WORDS[item.grade],
        shape=SHAPES[item.grade],
        urgent=item.grade == "now",
        what=words.what,
        do=words.do,
        since=item.since,
        setup=where.setup,
        setup_href=_record(item),
        plate=where.plate,
        step=step_id_words(where.step) if where.step else None,
        person=where.person,
        tablet=name_of(where.tablet) if where.tablet else None,
    )


def _record(item: Item) -> str | None:
    if item.where.setup is None:
        return None
    place = f"#e-{item.where.seq}" if item.where.seq else ""
    return f"/setups/{item.where.setup}{place}"


def _sieves(amounts: dict[ItemKind, int], chosen: ItemKind | None) -> list[Sieve]:
    """All, and every kind that has something or was asked for."""
    everything = Sieve("All", PATH, sum(amounts.values()), chosen is None)
    return [
        everything,
        *(
            Sieve(TITLES[one], f"{PATH}?kind={one}", amounts.get(one, 0), one == chosen)
            for one in KINDS
            if amounts.get(one) or one == chosen
        ),
    ]
