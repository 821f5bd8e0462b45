"""Demonstration shops for the tests: filled once for a whole module, read by many tests."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from api.domain.records import SetupSummary, StoredEvent
from api.paths import share
from api.security.pins import ArgonPins
from api.security.sealing import PublicKey, load_or_make
from api.security.tablet_keys import TabletKey, TabletKeys
from api.security.tokens import RandomTokens
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases.demo import fill
from api.use_cases.demo.filling import silent
from api.use_cases.ports import Means
from tests.support.filled import filled, migrated
from tests.support.shop import SteppedClock
from tests.use_cases.known_points import KnownPoints

TODAY = dt.date(2026, 11, 25)


@dataclass
class DemoShop:
    database: Database
    means: Means

    @property
    def uow(self) -> SqlUnitOfWork:
        return SqlUnitOfWork(self.database)

    def fill(
        self,
        setups: int,
        seed: int = 20,
        progress: Callable[[int, int, str], None] = silent,
    ) -> None:
        sealer = PublicKey(self.means.opener.public)
        fill(
            lambda: self.uow,
            self.means,
            sealer,
            TabletKey,
            share("seed_data"),
            TODAY,
            seed=seed,
            setups=setups,
            progress=progress,
        )

    @cached_property
    def events(self) -> list[StoredEvent]:
        with self.uow as uow:
            return uow.events.after(0, 100_000)

    @cached_property
    def raw(self) -> list[dict[str, Any]]:
        return [json.loads(event.text) for event in self.events]

    @cached_property
    def setups(self) -> list[SetupSummary]:
        with self.uow as uow:
            return uow.setups.all()

    def of_kind(self, kind: str) -> list[dict[str, Any]]:
        return [event for event in self.raw if event["kind"] == kind]


def empty_shop(url: str, keys: Path) -> DemoShop:
    database = filled(url, migrated)
    secrets = ArgonPins(), load_or_make(keys), RandomTokens()
    means = Means(SteppedClock(), *secrets, KnownPoints(), TabletKeys())
    return DemoShop(database, means)
