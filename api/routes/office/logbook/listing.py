"""The logbook: setups that fit what was asked, page by page, as a page, CSV or JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, get_args

from fastapi import APIRouter
from fastapi.responses import Response

from api.domain.errors import BadInput
from api.domain.plates import SetupPhase
from api.domain.records import Judgement, Page, SetupFilter, SetupSummary
from api.routes.office import asking
from api.routes.office.desk import Desk, DeskDep
from api.routes.office.formatting import iso
from api.routes.office.forms import Form
from api.routes.office.tables import csv_answer, json_answer
from api.use_cases import crew, designs, plates, setups, stores

router = APIRouter()
NAMES = ("plate", "design", "person", "tool", "judgement", "state", "since", "until")
PER_PAGE = 50
JUDGEMENTS: tuple[str, ...] = get_args(Judgement)
PHASES: tuple[str, ...] = get_args(SetupPhase)
COLUMNS = (
    "setup",
    "plate",
    "design",
    "revision",
    "opened_at_utc",
    "opened_by",
    "state",
    "judgement",
    "last_person",
    "last_at_utc",
    "torque_tool",
    "indicator",
    "movers",
    "signed_by",
    "signature",
    "records",
    "flags",
)


@dataclass(frozen=True)
class Asked:
    """What was asked of the logbook and what it answered."""

    form: Form
    wanted: SetupFilter
    found: Page[SetupSummary]

    @property
    def query(self) -> dict[str, Any]:
        return {**self.form.values, "page": self.found.page}


def wanted_of(form: Form) -> SetupFilter:
    since, until = asking.dates_of(form)
    return SetupFilter(
        plate=form.text("plate") or None,
        design=form.text("design") or None,
        person=form.text("person") or None,
        tool=form.text("tool") or None,
        judgement=asking.choice_of(form, "judgement", JUDGEMENTS),
        phase=asking.choice_of(form, "state", PHASES),
        since=since,
        until=until,
    )


def answer(desk: Desk, query: Mapping[str, str]) -> Asked:
    """The page of setups that was asked for; none of them when the question is malformed."""
    form = asking.ask(query, NAMES)
    wanted, page = wanted_of(form), asking.page_of(query)
    if not form.fine:
        return Asked(form, wanted, Page([], 1, PER_PAGE, 0))
    found = setups.find_setups(desk.uow, wanted, page, PER_PAGE)
    asking.refuse_empty_page(found)
    return Asked(form, wanted, found)


@router.get("/logbook")
def logbook(desk: DeskDep) -> Response:
    asked = answer(desk, desk.request.query_params)
    values = asked.form.values
    same: dict[str, str] = {name: values[name] for name in NAMES[:2] if name in values}
    return desk.show(
        "logbook/list.html",
        "Logbook",
        200 if asked.form.fine else 400,
        form=asked.form,
        setups=asked.found.items,
        asked=", ".join(f"{name} {value}" for name, value in values.items()),
        options=_options(desk),
        query=asking.query_of(asked.query),
        readings_query=asking.query_of(same),
        pages=asking.links(asked.found, "/logbook", values, "setup"),
    )


@router.get("/logbook.csv")
def logbook_csv(desk: DeskDep) -> Response:
    return csv_answer(_rows(_fine(desk)), COLUMNS, "logbook")


@router.get("/logbook.json")
def logbook_json(desk: DeskDep) -> Response:
    asked = _fine(desk)
    document = {
        "asked": asked.form.values,
        "page": asked.found.page,
        "pages": asked.found.pages,
        "total": asked.found.total,
        "setups": _rows(asked),
    }
    return json_answer(document, "logbook")


def _fine(desk: Desk) -> Asked:
    asked = answer(desk, desk.request.query_params)
    for name, message in asked.form.problems.items():
        raise BadInput(message, field=name)
    return asked


def _rows(asked: Asked) -> list[dict[str, Any]]:
    return [row_of(one) for one in asked.found.items]


def row_of(one: SetupSummary) -> dict[str, Any]:
    """A setup as a row of a file: the same facts the page shows."""
    return {
        "setup": one.id,
        "plate": one.plate,
        "design": one.design,
        "revision": one.revision,
        "opened_at_utc": iso(one.opened_at),
        "opened_by": one.opened_by,
        "state": one.phase,
        "judgement": one.judgement,
        "last_person": one.person,
        "last_at_utc": iso(one.last_at),
        "torque_tool": one.tool,
        "indicator": one.indicator,
        "movers": one.movers,
        "signed_by": one.signed_by,
        "signature": one.signature,
        "records": one.events,
        "flags": list(one.flags),
    }


@dataclass(frozen=True)
class Options:
    plates: list[tuple[str, str]]
    designs: list[tuple[str, str]]
    people: list[tuple[str, str]]
    tools: list[tuple[str, str]]
    judgements: list[tuple[str, str]]
    states: list[tuple[str, str]]


def some(words: list[str] | tuple[str, ...]) -> list[tuple[str, str]]:
    return [("", "any"), *((word, word) for word in words)]


def _options(desk: Desk) -> Options:
    return Options(
        plates=some([one.serial for one in plates.list_plates(desk.uow)]),
        designs=some(sorted({one.code for one in designs.list_designs(desk.uow)})),
        people=some([one.badge for one in crew.list_people(desk.uow)]),
        tools=some([one.version.key for one in stores.list_items(desk.uow, "tool")]),
        judgements=some(JUDGEMENTS),
        states=some(PHASES),
    )
