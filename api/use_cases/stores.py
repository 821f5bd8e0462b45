"""The stores: torque tools, indicators, greases, clamp specs and materials, kept by version."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from api.domain.errors import NotFound
from api.domain.people import Action, Person, require
from api.domain.records import ItemVersion
from api.domain.stores import MODELS, AnyItem, ItemKind, Stores, key_of
from api.domain.validation import validated
from api.use_cases.ports import Means, UnitOfWork


@dataclass(frozen=True, slots=True)
class StoredItem:
    """The item as it holds now, with its version number and, for a tool, all its pulls."""

    item: AnyItem
    version: ItemVersion
    pulls: int | None = None


def list_items(uow: UnitOfWork, kind: ItemKind) -> list[StoredItem]:
    _known(kind)
    with uow:
        pulls = uow.setups.pulls() if kind == "tool" else {}
        return [_stored(version, pulls) for version in uow.items.current(kind)]


def get_item(uow: UnitOfWork, kind: ItemKind, key: str) -> StoredItem:
    _known(kind)
    with uow:
        version = uow.items.get(kind, key)
        pulls = uow.setups.pulls() if kind == "tool" else {}
    if version is None:
        raise NotFound(f"The stores hold no {kind} {key!r}.", kind=kind, key=key)
    return _stored(version, pulls)


def item_history(uow: UnitOfWork, kind: ItemKind, key: str) -> list[ItemVersion]:
    """Every version, newest first."""
    _known(kind)
    with uow:
        versions = uow.items.history(kind, key)
    if not versions:
        raise NotFound(f"The stores hold no {kind} {key!r}.", kind=kind, key=key)
    return versions


def save_item(
    uow: UnitOfWork, means: Means, kind: ItemKind, body: dict[str, Any], by: Person
) -> StoredItem:
    """Checks the item and adds it as the next version; the same content adds none."""
    require(by, Action.EDIT_STORES)
    item = check_item(kind, body)
    with uow:
        uow.shop.bump()  # first, so that two changes at once come one after the other
        before = uow.items.get(kind, key_of(item))
        content = item.model_dump(mode="json")
        if before is not None and before.body == content:
            return _stored(before, uow.setups.pulls() if kind == "tool" else {})
        n = before.n + 1 if before else 1
        version = ItemVersion(kind, key_of(item), n, content, means.clock.now(), by.badge)
        uow.items.add(version)
        uow.commit()
    return StoredItem(item, version)


def check_item(kind: ItemKind, body: dict[str, Any]) -> AnyItem:
    """The item in `body`; raises `BadInput` naming the first wrong field."""
    _known(kind)
    return validated(MODELS[kind], body)


def everything(uow: UnitOfWork) -> Stores:
    """The stores as a checker or a sheet sees them; inside the caller's transaction."""
    return Stores.model_validate(
        {f"{kind}s": {one.key: one.body for one in uow.items.current(kind)} for kind in MODELS}
    )


def _known(kind: str) -> None:
    if kind not in MODELS:
        raise NotFound(
            f"The stores have no shelf {kind!r}; there are {', '.join(MODELS)}.", kind=kind
        )


def _stored(version: ItemVersion, pulls: dict[str, int]) -> StoredItem:
    item = MODELS[_kind(version.kind)].model_validate(version.body)
    before = getattr(item, "pulls_before", None)
    total = None if before is None else before + pulls.get(version.key, 0)
    return StoredItem(item, version, total)


def _kind(kind: str) -> ItemKind:
    return next(known for known in MODELS if known == kind)
