"""A shop with one signed setup in a data folder, and the command run in this process."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from api.cli import app
from api.settings import Settings
from tests.cli.proving import Verify
from tests.support.proving import Place, make_place
from tests.support.shop import STEPS, Shop, make_shop

Run = Callable[..., Result]


@pytest.fixture
def run(data: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs `clampbook WORDS... --data FOLDER`."""
    monkeypatch.delenv("CLAMPBOOK_DATABASE_URL", raising=False)
    runner = CliRunner()
    return lambda *words: runner.invoke(app, [*map(str, words), "--data", str(data)])


@pytest.fixture
def data(tmp_path: Path) -> Path:
    return tmp_path / "data"


@pytest.fixture
def shop(data: Path) -> Iterator[Shop]:
    settings = Settings(data=data)
    made = make_shop(settings.database, settings.keys)
    tablet = made.tablet()
    tablet.open()
    list(tablet.work(STEPS, None))
    made.push(tablet)
    yield made
    made.database.close()


@pytest.fixture
def place(new_database_url: str, tmp_path: Path) -> Iterator[Place]:
    """A shop with checkpoints, on each engine in turn."""
    made = make_place(new_database_url, tmp_path / "place")
    yield made
    made.database.close()


@pytest.fixture
def verify(place: Place, tmp_path: Path) -> Iterator[Verify]:
    made = Verify(place, tmp_path)
    yield made
    made.close()
