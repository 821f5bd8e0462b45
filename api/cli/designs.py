"""What every command about design files needs: the file, and the stores to compare it with."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from api.cli.output import stop
from api.cli.shop import current, database_file
from api.domain.stores import Stores
from api.paths import share
from api.settings import Settings
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases import stores
from api.use_cases.demo.stores import demo_stores


def read_file(file: Path, status: int) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        stop(
            f"{file} cannot be read ({error.strerror}). Check the name and its rights.",
            status=status,
        )


def shelf_of(settings: Settings) -> tuple[Stores, str]:
    """The shop's own stores if there is a shop, else those of the demonstration."""
    if settings.database_url or database_file(settings).is_file():
        with current(settings) as database:
            uow = SqlUnitOfWork(database, read_only=True)
            with uow:
                return stores.everything(uow), f"the stores of {settings.data}"
    return demo_stores(
        share("seed_data"), dt.datetime.now(dt.UTC).date()
    ), "the demonstration's stores"
