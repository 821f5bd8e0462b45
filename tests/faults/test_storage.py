"""Another program holds the database: pushes are told to come again, and nothing is half done."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager
from pathlib import Path

import httpx
import pytest
import sqlalchemy as sa

from api.app import create_app
from api.settings import Settings
from api.storage import engine
from tests.support.invariants import all_sent, assert_invariants
from tests.support.net import PATIENCE_S
from tests.support.pusher import Pusher
from tests.support.shop import STEPS, Shop, make_shop
from tests.support.site import client_of

WAIT_MS, LONG_WAIT_MS, MANY = 300, 10_000, 60


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


def test_pushes_that_wait_for_a_lock_keep_nobody_else_waiting(
    configured: Settings, shop_here: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(engine, "BUSY_TIMEOUT_MS", LONG_WAIT_MS)
    tablet = shop_here.tablet()
    tablet.open()
    with client_of(create_app(configured)) as client, ThreadPoolExecutor(MANY) as pool:
        pusher = Pusher(tablet, client)
        pusher.open_session().raise_for_status()
        body, told = pusher.body(), threading.Event()

        def send(_number: int) -> httpx.Response:
            answer = client.post("/api/sync/push", json=body)
            told.set()
            return answer

        with held(configured):
            sent = [pool.submit(send, number) for number in range(MANY)]
            assert told.wait(PATIENCE_S)
            assert pusher.pull().json()["events"] == []
            early = [one.result() for one in sent if one.done()]
            assert {one.json()["code"] for one in early} == {"busy"}
        answers = [one.result() for one in sent]
        taken = [one for one in answers if one.status_code == httpx.codes.OK]
        refused = [one for one in answers if one.status_code == httpx.codes.SERVICE_UNAVAILABLE]
        assert len(taken) + len(refused) == MANY
        assert taken
        assert all(int(one.headers["retry-after"]) > 0 for one in refused)
    assert_invariants(shop_here.database, [all_sent(tablet.name, tablet.texts)])
