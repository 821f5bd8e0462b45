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
from api.settings import Settings
from api.storage import migrate
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases.demo import fill
from tests.routes.office.visitor import Site, Visitor
from tests.support.analyser import QuickAnalyser
from tests.support.site import client_of

SETUPS = 8
TODAY = dt.date(2026, 11, 24)


def make_shop(settings: Settings) -> None:
    """Fills the empty database that the settings name."""
    with closing(Database(settings.database)) as database:
        migrate.upgrade(database, share("migrations"))
        fill(
            lambda: SqlUnitOfWork(database),
            means_for(settings),
            load_or_make(settings.keys),
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
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A filled data folder, to be copied and never opened."""
    folder = tmp_path_factory.mktemp("filled") / "data"
    make_shop(Settings(data=folder, database_url=""))
    return folder


@pytest.fixture
def site(filled: Path, tmp_path: Path) -> Iterator[Site]:
    """The shop on SQLite."""
    folder = tmp_path / "data"
    shutil.copytree(filled, folder)
    with opened(Settings(data=folder, database_url="")) as made:
        yield made


@pytest.fixture
def each_site(database_url: str, tmp_path: Path) -> Iterator[Site]:
    """The shop on SQLite and on PostgreSQL."""
    settings = Settings(data=tmp_path / "data", database_url=database_url)
    make_shop(settings)
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
