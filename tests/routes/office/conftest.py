"""A small demonstration shop behind the real application, on either engine."""

from __future__ import annotations

import datetime as dt
import shutil
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from api.app import create_app
from api.means import means_for
from api.paths import share
from api.security.sealing import load_or_make
from api.security.tablet_keys import TabletKey
from api.settings import Settings
from api.storage import migrate
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases.demo import fill
from tests.routes.office.visitor import Site, Visitor
from tests.support.analyser import QuickAnalyser
from tests.support.filled import Fill, filled
from tests.support.once import made_once
from tests.support.site import client_of

SETUPS = 8
TODAY = dt.date(2026, 11, 24)


def fill_shop(database: Database, settings: Settings) -> None:
    """Fills an empty database; PINs are sealed with the key that the settings name."""
    migrate.upgrade(database, share("migrations"))
    fill(
        lambda: SqlUnitOfWork(database),
        means_for(settings),
        load_or_make(settings.keys),
        TabletKey,
        share("seed_data"),
        TODAY,
        setups=SETUPS,
    )


@contextmanager
def opened(settings: Settings) -> Iterator[Site]:
    """Its past was computed as always; what a test loads is computed at once, or when it says so."""
    analyser = QuickAnalyser()
    with (
        closing(Database(settings.database)) as database,
        client_of(create_app(settings, analyser)) as client,
    ):
        yield Site(str(client.base_url), database, means_for(settings, analyser), analyser)


@pytest.fixture(scope="session")
def filled_data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A filled data folder, to be copied and never opened."""

    def make(folder: Path) -> None:
        settings = Settings(data=folder, database_url="")
        with closing(Database(settings.database)) as database:
            fill_shop(database, settings)

    return made_once(tmp_path_factory, "office-data", make)


@pytest.fixture(scope="session")
def fill_again(filled_data: Path) -> Fill:
    """Fills another database, with the key in the filled data folder."""
    settings = Settings(data=filled_data, database_url="")
    return lambda database: fill_shop(database, settings)


@pytest.fixture
def site(filled_data: Path, tmp_path: Path) -> Iterator[Site]:
    """The shop on SQLite."""
    folder = tmp_path / "data"
    shutil.copytree(filled_data, folder)
    with opened(Settings(data=folder, database_url="")) as made:
        yield made


@pytest.fixture
def each_site(
    new_database_url: str, fill_again: Fill, filled_data: Path, tmp_path: Path
) -> Iterator[Site]:
    """The shop on SQLite and on PostgreSQL."""
    folder = tmp_path / "data"
    shutil.copytree(filled_data, folder)
    settings = Settings(data=folder, database_url="")
    if not new_database_url.startswith("sqlite"):
        settings = Settings(data=folder, database_url=new_database_url)
        filled(new_database_url, fill_again).close()
    with opened(settings) as made:
        yield made


@pytest.fixture
def lead(site: Site) -> Iterator[Visitor]:
    with site.visitor("B-03") as visitor:
        yield visitor


@pytest.fixture
def engineer(site: Site) -> Iterator[Visitor]:
    with site.visitor("B-04") as visitor:
        yield visitor


@pytest.fixture
def operator(site: Site) -> Iterator[Visitor]:
    with site.visitor("B-01") as visitor:
        yield visitor
