"""One item: everything there is to decide by, and the decision."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response

from api.deps import OfficeDep
from api.domain.errors import BadInput
from api.domain.inbox import Settlement
from api.domain.records import StoredEvent, StoredSignature
from api.routes.office.deciding import TITLES, decided_of, href_of
from api.routes.office.desk import Desk, DeskDep, Posted
from api.routes.office.forms import Form
from api.routes.office.inbox.fields import fields_of
from api.routes.office.inbox.listing import HERE, names, row_of
from api.routes.office.inbox.words import (
    NameOf,
    ranges_words,
)
from api.routes.office.logbook.flags import flag_words
from api.routes.office.logbook.telling import data_of
from api.routes.office.logbook.words import step_id_words
from api.routes.office.logbook.words import tell as tell_event
from api.use_cases import inbox
from api.use_cases.inbox import Looked
from api.use_cases.inbox.looking import kind_of

router = APIRouter()
DEEDS = {
    "late": "Accept them as they are",
    "two-answers": "Let this one stand",
}


@dataclass(frozen=True, slots=True)
class Shown:
    """A record that an item is about."""

    id: str
    setup: str
    seq: int
    what: str
    value: str
    more: list[str]
    flags: list[str]
    person: str
    tablet: str
    at: Any
    received_at: Any


@router.get("/to-settle/{kind}/{key:path}")
def look(desk: DeskDep, kind: str, key: str) -> Response:
    return _show(desk, inbox.look(desk.uow, desk.means, desk.person, kind, key), Form())


@router.post("/to-settle/{kind}/{key:path}")
def decide(desk: DeskDep, pen: OfficeDep, kind: str, key: str, form: Posted) -> Response:
    reason, again = form.values.get("reason", ""), form.text("deed") == "open again"
    try:
        if again:
            inbox.open_again(desk.uow, desk.means, kind, key, reason, desk.person)
        else:
            keep = form.text("keep") or None
            inbox.settle(desk.uow, desk.means, pen, kind, key, reason, desk.person, keep)
    except BadInput as problem:
        form.refuse(str(problem.where.get("field", "")), problem.message)
        found = inbox.look(desk.uow, desk.means, desk.person, kind, key)
        return _show(desk, found, form, 422)
    if again:
        return desk.go(href_of(kind_of(kind), key), "It is open again.")
    return desk.go("/to-settle", "It is settled, under your badge and with your reason.")


def _show(desk: Desk, looked: Looked, form: Form, status: int = 200) -> Response:
    name_of = names(desk)
    item = looked.item
    form.labels = {"reason": "Reason", "keep": "Which one stands"}
    return desk.show(
        "inbox/item.html",
        HERE,
        status,
        title=TITLES[looked.kind],
        kind=looked.kind,
        href=href_of(looked.kind, looked.key),
        row=row_of(item, name_of) if item else None,
        open=looked.open,
        settled=looked.settled,
        settled_words=decided_of(looked.settled) if looked.settled else None,
        decisions=[(one, decided_of(one)) for one in looked.decisions],
        kept=_kept(looked.settled),
        events=[_shown(one, name_of) for one in looked.events],
        signatures=_others(looked),
        ranges=ranges_words(item.facts["ranges"]) if item and item.kind == "gap" else "",
        marks=[flag_words(one) for one in item.facts.get("flags", [])] if item else [],
        chains=item.facts if item and item.kind == "other-chain" else None,
        aside=looked.aside,
        fields=fields_of(looked.aside) if looked.aside else [],
        tablet=looked.tablet,
        form=form,
        deed=DEEDS.get(looked.kind, "Settle it"),
    )


def _shown(event: StoredEvent, name_of: NameOf) -> Shown:
    told = tell_event(event.kind, event.step, data_of(event))
    steps = [f"step: {step_id_words(event.step)}"] if event.step else []
    return Shown(
        event.id,
        event.setup,
        event.seq,
        told.what,
        told.value,
        [*steps, *told.more],
        [flag_words(one) for one in event.flags],
        event.person or "nobody",
        name_of(event.tablet),
        event.at,
        event.received_at,
    )


def _others(looked: Looked) -> list[StoredSignature]:
    """The setup's signatures, where they help to decide."""
    return looked.signatures if looked.kind in ("refused", "waiting", "late") else []


def _kept(settled: Settlement | None) -> str | None:
    return settled.keep if settled else None
