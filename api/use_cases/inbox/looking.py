"""One item with everything that is needed to decide it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import cast, get_args

from api.domain.errors import NotFound
from api.domain.inbox import Item, ItemKind, Settlement, subject_of
from api.domain.people import Action, Person, require
from api.domain.records import SetAside, StoredEvent, StoredSignature, Tablet
from api.use_cases.inbox.gathering import all_items
from api.use_cases.inbox.listing import settlements
from api.use_cases.ports import Means, UnitOfWork


@dataclass(frozen=True, slots=True)
class Looked:
    """`item` is None once it has settled itself; `decisions` are the lead's, oldest first.

    `events` are the records that it is about.
    """

    kind: ItemKind
    key: str
    item: Item | None
    decisions: list[Settlement]
    events: list[StoredEvent] = field(default_factory=list)
    signatures: list[StoredSignature] = field(default_factory=list)
    aside: SetAside | None = None
    tablet: Tablet | None = None

    @property
    def settled(self) -> Settlement | None:
        """The decision that holds, if one does."""
        last = self.decisions[-1] if self.decisions else None
        return last if last is not None and last.settles else None

    @property
    def open(self) -> bool:
        return self.item is not None and self.settled is None


def kind_of(word: str) -> ItemKind:
    if word not in get_args(ItemKind):
        raise NotFound(f"Nothing to settle is called '{word[:40]}'.")
    return cast("ItemKind", word)


def look(uow: UnitOfWork, means: Means, by: Person, kind: str, key: str) -> Looked:
    """Raises `NotFound` for what never was an item, as far as anybody knows."""
    require(by, Action.READ)
    with uow:
        return looked(uow, means, kind_of(kind), key)


def looked(uow: UnitOfWork, means: Means, kind: ItemKind, key: str) -> Looked:
    """The same inside a transaction that is open."""
    subject = subject_of(kind, key)
    item = next((one for one in all_items(uow, means.clock.now()) if one.subject == subject), None)
    decisions = settlements(uow, subject)
    if item is None and not decisions:
        raise NotFound(
            "Nothing is left to settle here: it has settled itself, or the address is wrong.",
            code="nothing-to-settle",
        )
    where = item.where if item else None
    ids = _ids(kind, key, item) + [one.keep for one in decisions if one.keep]
    tablet = where.tablet if where else None
    return Looked(
        kind,
        key,
        item,
        decisions,
        sorted(uow.events.found(ids).values(), key=lambda one: one.seq),
        uow.signatures.of_setup(where.setup) if where and where.setup else [],
        uow.questions.aside(key) if kind == "set-aside" else None,
        uow.tablets.get(tablet) if tablet else None,
    )


def _ids(kind: ItemKind, key: str, item: Item | None) -> list[str]:
    """The records an item is about; of one that is no more, what its key still names."""
    if kind in ("refused", "waiting"):
        return [key]
    if item is None:
        return [key.rpartition("/")[2]] if kind in ("two-answers", "late") else []
    return list(item.facts.get("answers") or item.facts.get("records") or [])
