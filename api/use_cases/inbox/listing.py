"""The list itself, what has been settled, and the number that stands in the menu."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from api.domain.inbox import Item, ItemKind, Settlement, in_order, last_of_each, settlement_of
from api.domain.people import Action, Person, require
from api.domain.records import JournalEntry, Page
from api.use_cases.inbox.gathering import all_items
from api.use_cases.ports import Means, UnitOfWork
from api.use_cases.setups import check_page

PER_PAGE = 25


@dataclass(frozen=True, slots=True)
class Listed:
    """One page of the open items, and how many there are of each kind."""

    page: Page[Item]
    amounts: dict[ItemKind, int]


def list_items(
    uow: UnitOfWork,
    means: Means,
    by: Person,
    kind: ItemKind | None = None,
    page: int = 1,
    per_page: int = PER_PAGE,
) -> Listed:
    """Worst and oldest first; of one kind, if one is named."""
    require(by, Action.READ)
    check_page(page, per_page)
    with uow:
        found = open_items(uow, means)
    wanted = [one for one in found if kind in (None, one.kind)]
    start = (page - 1) * per_page
    shown = Page(wanted[start : start + per_page], page, per_page, len(wanted))
    return Listed(shown, dict(Counter(one.kind for one in found)))


def list_settled(
    uow: UnitOfWork, by: Person, page: int = 1, per_page: int = PER_PAGE
) -> Page[Settlement]:
    """Every decision, newest first, those that opened an item again among them."""
    require(by, Action.READ)
    check_page(page, per_page)
    with uow:
        found = uow.questions.decided(page, per_page)
    return Page(_settlements(found.items), found.page, found.per_page, found.total)


def count(uow: UnitOfWork, means: Means) -> int:
    """How many items are open; counted anew when something was written, and once a minute."""
    minute = f"{means.clock.now():%Y%m%d%H%M}"
    with uow:
        key = (uow.events.chain_head()[1], minute)
        known = _COUNTED.get(key)
        if known is None:
            known = len(open_items(uow, means))
    _remember(key, known)
    return known


def settlements_of_setup(uow: UnitOfWork, setup: str) -> list[Settlement]:
    """What was decided about a setup's late records, conflicts and marks, oldest first."""
    with uow:
        found = _settlements(uow.journal.of_kind("dealt with"))
    return [one for one in found if one.key.startswith(f"{setup}/")]


def open_items(uow: UnitOfWork, means: Means) -> list[Item]:
    """In order, without what has been dealt with."""
    dealt = last_of_each(_settlements(uow.journal.of_kind("dealt with")))
    items = all_items(uow, means.clock.now())
    return in_order(
        one for one in items if one.subject not in dealt or not dealt[one.subject].settles
    )


def settlements(uow: UnitOfWork, subject: str) -> list[Settlement]:
    """Every decision about one item, oldest first."""
    found = _settlements(uow.journal.of_kind("dealt with"))
    return [one for one in found if f"{one.kind}:{one.key}" == subject]


def _settlements(entries: Iterable[JournalEntry]) -> list[Settlement]:
    read = (settlement_of(one, json.loads(one.body)) for one in entries)
    return [one for one in read if one is not None]


_COUNTED: dict[tuple[str, str], int] = {}
MOST_COUNTED = 64


def _remember(key: tuple[str, str], amount: int) -> None:
    _COUNTED[key] = amount
    while len(_COUNTED) > MOST_COUNTED:
        _COUNTED.pop(next(iter(_COUNTED)), None)
