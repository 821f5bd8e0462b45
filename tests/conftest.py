"""Fixtures for all tests: the two database engines and a real server."""

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from tests.support.once import made_once
from tests.support.postgres import Cluster, create_database, drop_database, new_address
from tests.support.server import Server

# A test is not wrong because the machine was busy while it ran.
settings.register_profile("tests", settings(), deadline=None)
settings.load_profile("tests")

# A server backs itself up only where a test asks for it.
os.environ.setdefault("CLAMPBOOK_BACKUP_EVERY_H", "0")

CLUSTER = "CLAMPBOOK_TEST_POSTGRES_URL"
MakeServer = Callable[..., Server]


@pytest.fixture(scope="session")
def postgres_cluster() -> Iterator[str]:
    """Address of a PostgreSQL cluster: the one `python -m tests` started, else one of our own."""
    given = os.environ.get(CLUSTER)
    if given:
        yield given
        return
    cluster = Cluster()
    try:
        cluster.start()
        yield cluster.url
    finally:
        cluster.stop()


@pytest.fixture
def sqlite_url(tmp_path: Path) -> str:
    """An SQLite file that does not exist yet."""
    return f"sqlite:///{tmp_path / 'test.sqlite3'}"


@pytest.fixture
def new_postgres_url(postgres_cluster: str) -> Iterator[str]:
    """A PostgreSQL database that does not exist yet."""
    url = new_address(postgres_cluster)
    yield url
    drop_database(url)


@pytest.fixture
def postgres_url(new_postgres_url: str) -> str:
    """An empty PostgreSQL database."""
    create_database(new_postgres_url)
    return new_postgres_url


@pytest.fixture(params=["sqlite", "postgresql"])
def new_database_url(request: pytest.FixtureRequest) -> str:
    """A database of each engine in turn that does not exist yet."""
    name = "sqlite_url" if request.param == "sqlite" else "new_postgres_url"
    url: str = request.getfixturevalue(name)
    return url


@pytest.fixture
def database_url(new_database_url: str) -> str:
    """An empty database of each engine in turn."""
    if not new_database_url.startswith("sqlite"):
        create_database(new_database_url)
    return new_database_url


@pytest.fixture(scope="session")
def demo_data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Data folder of a filled demonstration shop, stopped; copy it before serving from it."""

    def make(data: Path) -> None:
        with Server(data, command="demo") as server:
            server.stop()

    return made_once(tmp_path_factory, "demo-data", make)


@pytest.fixture
def server(tmp_path: Path) -> Iterator[MakeServer]:
    """Makes real servers (`server()`, `server(command="demo")`); none outlives the test."""
    made: list[Server] = []

    def make(data: Path | None = None, *, command: str = "serve", database_url: str = "") -> Server:
        made.append(Server(data or tmp_path / "data", command=command, database_url=database_url))
        return made[-1]

    yield make
    for each in made:
        each.kill()
