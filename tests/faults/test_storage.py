"""Another program holds the database: pushes are told to come again, and nothing is half done."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
import sqlalchemy as sa

from api.app import create_app
from api.settings import Settings
from api.storage import engine
from tests.support.invariants import all_sent, assert_invariants
from tests.support.pusher import Pusher
from tests.support.shop import STEPS, Shop, make_shop
from tests.support.site import client_of

WAIT_MS = 300


@pytest.fixture
def configured(new_database_url: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Settings:
    """A server that waits for a lock no longer than a test may."""
    monkeypatch.setattr(engine, "BUSY_TIMEOUT_MS", WAIT_MS)
    return Settings(data=tmp_path / "data", database_url=new_database_url)


@pytest.fixture
def shop_here(configured: Settings) -> Iterator[Shop]:
    made = make_shop(configured.database, configured.keys)
    yield made
    made.database.close()


@contextmanager
def held(settings: Settings) -> Iterator[None]:
    """Another program's transaction on what every writer of the log needs."""
    with closing(engine.Database(settings.database)) as other, other.writer.connect() as connection:
        connection.execute(sa.text("UPDATE counter SET value = value WHERE name = 'seq'"))
        yield
        connection.rollback()


def test_a_locked_database_says_when_to_come_again_and_keeps_no_part(
    configured: Settings, shop_here: Shop
) -> None:
    tablet = shop_here.tablet()
    tablet.open()
    list(tablet.work(STEPS, "sign"))
    with client_of(create_app(configured)) as client:
        pusher = Pusher(tablet, client)
        pusher.open_session().raise_for_status()
        pusher.push(tablet.texts[:3]).raise_for_status()
        before = assert_invariants(shop_here.database)
        with held(configured):
            refused = pusher.push()
            assert refused.status_code == 503
            assert int(refused.headers["retry-after"]) > 0
            assert len(pusher.pull().json()["events"]) == 3
        assert_invariants(shop_here.database, before=before)
        again = pusher.push().raise_for_status().json()
    outcomes = [one["outcome"] for one in again["results"]]
    assert outcomes == ["already"] * 3 + ["stored"] * (len(tablet.texts) - 3)
    assert_invariants(shop_here.database, [all_sent(tablet.name, tablet.texts)], before=before)
