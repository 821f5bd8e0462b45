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


@dataclass(frozen=True, slots=True)
class ShopData:
    version: str
    shop: str
    epoch: str
    time: dt.datetime
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
        sheets = [one.sheet for one in uow.designs.all() if one.state == "released" and one.sheet]
        return ShopData(
            version=_version(uow, means),
            shop=meta.name,
            epoch=meta.epoch,
            time=means.clock.now(),
            sheets=sheets,
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
