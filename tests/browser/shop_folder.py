"""The demonstration shop's data folder: filled once, copied for every test that changes it."""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path

from api.domain.people import Person, Role
from api.means import means_for
from api.paths import share
from api.security.sealing import load_or_make
from api.security.tablet_keys import TabletKey
from api.settings import Settings
from api.storage import migrate
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases import plates
from api.use_cases.demo.filling import fill

SPARE_DESIGN = "SAD-20"
OWNER = Person(badge="B-05", role=Role.OWNER)


def fill_folder(folder: Path, setups: int) -> Path:
    """Make the shop as `clampbook demo` does, with fewer past setups."""
    folder.mkdir(parents=True)
    settings = Settings(data=folder, database_url="")
    database = Database(settings.database)
    try:
        migrate.upgrade(database, share("migrations"))
        fill(
            lambda: SqlUnitOfWork(database),
            means_for(settings),
            load_or_make(settings.keys),
            TabletKey,
            share("seed_data"),
            dt.datetime.now(dt.UTC).date(),
            setups=setups,
        )
    finally:
        database.close()
    return folder


def copy_folder(filled: Path, target: Path) -> Path:
    return shutil.copytree(filled, target)


def add_plates(folder: Path, serials: list[str]) -> None:
    """More plates of one design, so that tests can share a server without sharing a plate."""
    database = Database(Settings(data=folder, database_url="").database)
    try:
        uow = SqlUnitOfWork(database)
        for serial in serials:
            plates.add_plate(uow, serial, SPARE_DESIGN, OWNER)
    finally:
        database.close()
