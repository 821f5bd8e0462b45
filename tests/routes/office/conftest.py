"""A small demonstration shop behind the real application, on either engine."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path

import pytest

from api.app import create_app
from api.paths import share
from api.security.wiring import means_for
from api.settings import Settings
from api.storage import migrate
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases.demo import fill
from tests.routes.office.visitor import Site, Visitor
from tests.support.site import client_of

SETUPS = 8
TODAY = dt.date(2026, 11, 24)


def open_site(settings: Settings) -> Iterator[Site]:
    database, means = Database(settings.database), means_for(settings)
    migrate.upgrade(database, share("migrations"))
    fill(
        lambda: SqlUnitOfWork(database),
        means,
        means.opener,
        share("seed_data"),
        TODAY,
        setups=SETUPS,
    )
    with client_of(create_app(settings)) as client:
        yield Site(str(client.base_url), database, means)
    database.close()


@pytest.fixture
def site(sqlite_url: str, tmp_path: Path) -> Iterator[Site]:
    """The shop on SQLite."""
    yield from open_site(Settings(data=tmp_path / "data", database_url=sqlite_url))


@pytest.fixture
def each_site(database_url: str, tmp_path: Path) -> Iterator[Site]:
    """The shop on SQLite and on PostgreSQL."""
    yield from open_site(Settings(data=tmp_path / "data", database_url=database_url))


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
