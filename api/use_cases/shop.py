"""Everything a tablet must have to work alone: sheets, plates, stores, people, key and pace."""

from __future__ import annotations

import datetime as dt
from base64 import b64encode
from collections import defaultdict
from dataclasses import asdict, dataclass
from itertools import pairwise
from statistics import median
from typing import Any

from api.domain.stores import ItemKind
from api.use_cases.plates import PlateInfo, plate_infos
from api.use_cases.ports import Means, UnitOfWork

PACE_OVER = 40
LONGEST_STEP_S = 600
UNFINISHED = frozenset({"working", "signed", "in machine"})


@dataclass(frozen=True, slots=True)
class ShopData:
    """`start` is the sequence number after which a tablet new to the shop begins to pull."""

    version: str
    shop: str
    epoch: str
    time: dt.datetime
    start: int
    sheets: list[dict[str, Any]]
    plates: list[PlateInfo]
    tools: list[dict[str, Any]]
    indicators: list[dict[str, Any]]
    greases: list[dict[str, Any]]
    specs: list[dict[str, Any]]
    people: list[dict[str, Any]]
    key: dict[str, str]
    pace: dict[str, float]


def shop_version(uow: UnitOfWork, means: Means) -> str:
    """Changes whenever something that `shop_data` hands out does."""
    with uow:
        return _version(uow, means)


def shop_data(uow: UnitOfWork, means: Means) -> ShopData:
    with uow:
        meta, pulls = uow.shop.meta(), uow.setups.pulls()
        unfinished = [one for one in uow.setups.all() if one.phase in UNFINISHED]
        return ShopData(
            version=_version(uow, means),
            shop=meta.name,
            epoch=meta.epoch,
            time=means.clock.now(),
            start=_start(uow, [one.id for one in unfinished]),
            sheets=_sheets(uow, {(one.design, one.revision) for one in unfinished}),
            plates=plate_infos(uow),
            tools=[_with_pulls(one, pulls) for one in _bodies(uow, "tool")],
            indicators=_bodies(uow, "indicator"),
            greases=_bodies(uow, "grease"),
            specs=_bodies(uow, "spec"),
            people=[one.model_dump(mode="json") for one in uow.people.all()],
            key={"id": means.opener.key_id, "public": b64encode(means.opener.public).decode()},
            pace=_pace(uow),
        )


def to_json(shop: ShopData) -> dict[str, Any]:
    return asdict(shop)


def _version(uow: UnitOfWork, means: Means) -> str:
    meta = uow.shop.meta()
    return f"{meta.epoch[:8]}-{means.opener.key_id[:8]}-{meta.version}"


def _start(uow: UnitOfWork, unfinished: list[str]) -> int:
    """Just before the oldest record that somebody may still have to work with."""
    first = [uow.events.of_setup(setup)[0].seq - 1 for setup in unfinished]
    return min(first, default=uow.events.head())


def _sheets(uow: UnitOfWork, in_work: set[tuple[str, str]]) -> list[dict[str, Any]]:
    """Of every released revision, and of withdrawn ones that a plate is still set up to."""
    return [
        one.sheet
        for one in uow.designs.all()
        if one.sheet and (one.state == "released" or (one.code, one.revision) in in_work)
    ]


def _bodies(uow: UnitOfWork, kind: ItemKind) -> list[dict[str, Any]]:
    return [one.body for one in uow.items.current(kind)]


def _with_pulls(tool: dict[str, Any], pulls: dict[str, int]) -> dict[str, Any]:
    """`pulls` counts those before the register began, too."""
    return {**tool, "pulls": tool["pulls_before"] + pulls.get(tool["serial"], 0)}


def _pace(uow: UnitOfWork) -> dict[str, float]:
    """Median seconds between one record and the next, by the kind of step, over recent setups."""
    spent: dict[str, list[float]] = defaultdict(list)
    recent = [one.id for one in uow.setups.newest(PACE_OVER)]
    for before, after in pairwise(uow.events.timings(recent)):
        seconds = (after[3] - before[3]).total_seconds()
        if before[:2] == after[:2] and 0 < seconds <= LONGEST_STEP_S:
            spent[after[2].partition("/")[0]].append(seconds)
    return {kind: round(median(found), 1) for kind, found in sorted(spent.items())}
