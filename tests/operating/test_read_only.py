"""While records cannot be kept: reading works, changes are refused before they begin, hints flow."""

from __future__ import annotations

import datetime as dt
import resource
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import httpx
import psycopg
import pytest
from sqlalchemy import event
from sqlalchemy.engine import make_url

from api.app import create_app
from api.settings import Settings
from api.storage.engine import Database
from api.use_cases import crew
from tests.support.invariants import all_sent, assert_invariants
from tests.support.net import PATIENCE_S, wait_until
from tests.support.pusher import Pusher, new_code
from tests.support.script import Tablet
from tests.support.server import Server
from tests.support.shop import OWNER, STEPS, Shop, make_shop, session_cookie
from tests.support.site import client_of

PASSWORD = "clamp plate bench 81"
SETUP = "01920000-0000-7000-8000-00000000beef"
MakeServer = Callable[..., Server]


@pytest.fixture
def configured(new_database_url: str, tmp_path: Path) -> Settings:
    return Settings(data=tmp_path / "data", database_url=new_database_url, backup_every_h=0)


@pytest.fixture
def shop(configured: Settings) -> Iterator[Shop]:
    made = make_shop(configured.database, configured.keys)
    yield made
    made.database.close()


def working(tablet: Tablet) -> Tablet:
    tablet.open()
    list(tablet.work(STEPS[:6]))
    return tablet


def assert_read_only(answer: httpx.Response) -> None:
    assert answer.status_code == 503, answer.text
    assert answer.headers["retry-after"] == "30"
    told = answer.json()
    assert told["code"] == "read-only"
    assert told["detail"].startswith("Read-only: ")
    assert told["request_id"] == answer.headers["x-request-id"]


def test_on_a_disk_that_is_nearly_full_nothing_is_written_and_everything_can_be_read(
    configured: Settings, shop: Shop
) -> None:
    tablet = working(shop.tablet())
    shop.clock.at = dt.datetime.now(dt.UTC)
    crew.set_password(shop.uow, shop.means, OWNER.badge, PASSWORD, OWNER)
    seat = crew.sign_in(shop.uow, shop.means, OWNER.badge, PASSWORD).token
    cookie = session_cookie(shop, tablet) | {"clampbook_session": seat}
    low = configured.model_copy(update={"least_free_bytes": 1 << 60})
    with client_of(create_app(low)) as client:
        client.cookies.update(cookie)
        pusher = Pusher(tablet, client)
        with shop.reader as uow:
            before = uow.events.chain_head(), uow.shop.probed()
        assert_read_only(pusher.push())
        assert_read_only(client.get("/api/health"))
        assert "Free some space" in pusher.push().json()["detail"]
        assert client.get("/api/plates").status_code == 200
        assert pusher.pull().status_code == 200
        with client.stream("GET", "/api/sync/hints") as hints:
            assert next(hints.iter_lines()).startswith("event: head")
        page = client.get("/sign-in")
        assert page.status_code == 200
        assert "Read-only: the disk of" in page.text
        shown = client.get("/system")
        assert shown.status_code == 200
        assert "Read-only: the disk of" in shown.text and "read only" in shown.text
        with shop.reader as uow:
            assert (uow.events.chain_head(), uow.shop.probed()) == before
    assert shop.push(tablet).results[0].outcome == "stored"


@contextmanager
def unwritable(database: Database) -> Iterator[None]:
    """Every connection of the writer refuses to write until the block ends, as on a read-only disk."""
    engine = database.writer

    def refuse(connection: sqlite3.Connection, _record: object, _proxy: object) -> None:
        connection.execute("PRAGMA query_only = ON")

    event.listen(engine, "checkout", refuse)
    yield
    event.remove(engine, "checkout", refuse)
    engine.dispose()


@pytest.mark.parametrize("new_database_url", ["sqlite"], indirect=True)
def test_a_database_that_became_read_only_is_noticed_and_left_by_itself(
    configured: Settings, shop: Shop
) -> None:
    tablet = working(shop.tablet())
    cookie = session_cookie(shop, tablet)
    app = create_app(configured)
    with client_of(app) as client:
        client.cookies.update(cookie)
        pusher = Pusher(tablet, client)
        with unwritable(app.state.wiring.database):
            first = pusher.push()
            assert first.status_code == 503
            assert "readonly database" in first.json()["detail"]
            assert_read_only(pusher.push())
            assert pusher.pull().json()["events"] == []
        wait_until(lambda: not app.state.writing.why(), what="the end of reading only")
        assert {one["outcome"] for one in pusher.push().json()["results"]} == {"stored"}
    assert_invariants(shop.database, [all_sent(tablet.name, tablet.texts)])


@pytest.mark.parametrize("new_database_url", ["postgresql"], indirect=True)
def test_a_postgresql_that_takes_no_writes_is_noticed_and_left_by_itself(
    configured: Settings, shop: Shop
) -> None:
    tablet = working(shop.tablet())
    cookie = session_cookie(shop, tablet)
    app = create_app(configured)
    with client_of(app) as client:
        client.cookies.update(cookie)
        pusher = Pusher(tablet, client)
        read_only(configured, "on")
        shop.database.close()
        wait_until(lambda: pusher.push().json().get("code") == "read-only", what="reading only")
        assert_read_only(client.get("/api/health"))
        assert pusher.pull().json()["events"] == []
        read_only(configured, "off")
        wait_until(lambda: not app.state.writing.why(), what="the end of reading only")
        assert {one["outcome"] for one in pusher.push().json()["results"]} == {"stored"}
    assert_invariants(shop.database, [all_sent(tablet.name, tablet.texts)])


def read_only(settings: Settings, value: str) -> None:
    """For every connection made from now on; those that are open end."""
    url = make_url(settings.database)
    address = url.set(drivername="postgresql").render_as_string(hide_password=False)
    with psycopg.connect(address, autocommit=True) as connection:
        connection.execute("SET default_transaction_read_only = off")
        connection.execute(
            f'ALTER DATABASE "{url.database}" SET default_transaction_read_only = {value}'.encode()
        )
        if value == "on":
            connection.execute(
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
                "WHERE datname = current_database() AND pid <> pg_backend_pid()"
            )


def test_a_file_that_cannot_grow_leaves_no_partial_rows(server: MakeServer, tmp_path: Path) -> None:
    data = tmp_path / "data"
    running = server(data).start()
    tablet = working(Tablet("tab-9", setup=SETUP))
    with httpx.Client(base_url=running.url, timeout=PATIENCE_S) as client:
        pusher = Pusher(tablet, client).admit(new_code(data))
        pusher.push(tablet.texts[:2]).raise_for_status()
        _, most = resource.prlimit(running.pid, resource.RLIMIT_FSIZE)
        resource.prlimit(running.pid, resource.RLIMIT_FSIZE, (1, most))
        assert pusher.push().status_code == 503
        assert_read_only(pusher.push())
        assert len(pusher.pull().json()["events"]) == 2
        resource.prlimit(running.pid, resource.RLIMIT_FSIZE, (most, most))
        wait_until(
            lambda: client.get("/api/health").status_code == 200, what="the end of reading only"
        )
        outcomes = [one["outcome"] for one in pusher.push().json()["results"]]
    assert outcomes == ["already"] * 2 + ["stored"] * (len(tablet.texts) - 2)
    running.kill()
    with closing(Database(Settings(data=data).database)) as database:
        assert_invariants(database, [all_sent("tab-9", tablet.texts)])
