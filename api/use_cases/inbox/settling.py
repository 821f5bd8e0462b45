"""Deciding an item: in the name of a lead, with a reason, in the journal; undone only by another entry."""

from __future__ import annotations

from typing import Any

from api.domain.errors import BadInput, Clash
from api.domain.inbox import (
    LONGEST_REASON,
    SHORTEST_REASON,
    Decision,
    Settlement,
    subject_of,
)
from api.domain.people import Action, Person, require
from api.domain.setups.current import OVER
from api.use_cases import office_log
from api.use_cases.inbox.looking import Looked, kind_of, looked
from api.use_cases.ports import Means, UnitOfWork
from api.use_cases.ports.office import OfficePen

SAYS: dict[str, Decision] = {"late": "accepted", "two-answers": "chosen"}


def settle(
    uow: UnitOfWork,
    means: Means,
    pen: OfficePen,
    kind: str,
    key: str,
    reason: str,
    by: Person,
    keep: str | None = None,
) -> None:
    """Of two answers, `keep` names the record that stands.

    Raises `Clash` when somebody was first, or it has settled itself meanwhile.
    """
    require(by, Action.SETTLE)
    reason = reason_of(reason)
    with uow:
        uow.events.lock()
        now = looked(uow, means, kind_of(kind), key)
        if now.settled is not None:
            raise Clash(_was_first(now.settled))
        if now.item is None:
            raise Clash("It has settled itself meanwhile; nothing was changed.")
        told: dict[str, Any] = {"reason": reason, "decision": SAYS.get(kind, "dealt with")}
        if kind == "two-answers":
            told |= _choose(uow, means, pen, now, keep, reason, by)
        _note(uow, means, now, told, by)
        uow.commit()


def open_again(uow: UnitOfWork, means: Means, kind: str, key: str, reason: str, by: Person) -> None:
    """Takes a decision back, by an entry of its own; what a record changed stays changed."""
    require(by, Action.SETTLE)
    reason = reason_of(reason)
    with uow:
        uow.events.lock()
        now = looked(uow, means, kind_of(kind), key)
        if now.settled is None:
            raise Clash("It is open already.")
        _note(uow, means, now, {"reason": reason, "decision": "open again"}, by)
        uow.commit()


def reason_of(text: str) -> str:
    text = " ".join(text.split())
    if not SHORTEST_REASON <= len(text) <= LONGEST_REASON:
        raise BadInput(
            f"Give the reason in {SHORTEST_REASON} to {LONGEST_REASON} characters.", field="reason"
        )
    return text


def _choose(
    uow: UnitOfWork,
    means: Means,
    pen: OfficePen,
    now: Looked,
    keep: str | None,
    reason: str,
    by: Person,
) -> dict[str, Any]:
    """The choice as a record of the setup; one that is over takes none, so the journal says it."""
    item = now.item
    if item is None or keep not in item.facts["answers"]:
        raise BadInput("Choose which of the answers stands.", field="keep")
    if item.where.setup is not None and item.facts["phase"] not in OVER:
        data = {"step": item.where.step, "keep": keep, "reason": reason}
        office_log.write(uow, means, pen, by, item.where.setup, "conflict resolved", data)
    return {"keep": keep, "step": item.where.step}


def _note(uow: UnitOfWork, means: Means, now: Looked, told: dict[str, Any], by: Person) -> None:
    subject = subject_of(now.kind, now.key)
    uow.journal.add("dealt with", subject, told, means.clock.now(), by.badge)


def _was_first(settled: Settlement) -> str:
    at = settled.at.astimezone().strftime("%H:%M")
    return f"{settled.by} has settled this at {at}: {settled.reason}"
