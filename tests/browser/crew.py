"""What a lead does about tablets, done beside a running server on its own database."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import text

from api.means import means_for
from api.settings import Settings
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases import tablets
from api.use_cases.ports import Means
from tests.browser.enrolling import LEAD


@contextmanager
def beside(folder: Path) -> Iterator[tuple[SqlUnitOfWork, Means]]:
    settings = Settings(data=folder, database_url="")
    database = Database(settings.database)
    try:
        yield SqlUnitOfWork(database), means_for(settings)
    finally:
        database.close()


def revoke(folder: Path, tablet: str) -> None:
    with beside(folder) as (uow, means):
        tablets.revoke(uow, means, tablet, "left on the bus", LEAD)


def end_sessions(folder: Path) -> None:
    """As twelve hours do."""
    database = Database(Settings(data=folder, database_url="").database)
    try:
        with database.writer.begin() as connection:
            connection.execute(text("DELETE FROM tablet_session"))
    finally:
        database.close()
