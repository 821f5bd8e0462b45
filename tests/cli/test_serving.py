"""`serve` and `demo` as real processes: first and second start, refusals, ends."""

from __future__ import annotations

import re
import shutil
import signal
import socket
import time
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from api.settings import Settings
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork
from tests.cli.conftest import Run
from tests.support.net import free_port, get
from tests.support.pusher import Pusher, new_code
from tests.support.script import Tablet
from tests.support.server import Server
from tests.support.shop import SETUP

STOP_WITHIN_S = 5


@pytest.fixture
def server(data: Path) -> Iterator[Server]:
    made = Server(data)
    yield made
    made.kill()


def records_of(data: Path) -> tuple[str, int]:
    database = Database(Settings(data=data).database)
    with SqlUnitOfWork(database, read_only=True) as uow:
        found = uow.shop.meta().epoch, uow.events.head()
    database.close()
    return found


def test_the_first_start_makes_an_owner_and_shows_the_secrets_only_once(server: Server) -> None:
    server.start()
    server.stop()
    first = server.log.read_text()
    assert re.search(r"owner is badge B-01, password \S+, PIN \d{4}\.", first)
    server.start()
    server.stop()
    assert "owner is badge" not in server.log.read_text().removeprefix(first)


def test_a_killed_server_starts_again_on_its_port_with_its_records(server: Server) -> None:
    server.start()
    before = get(f"{server.url}/api/health").json()["epoch"]
    server.kill()
    server.start()
    assert get(f"{server.url}/api/health").json()["epoch"] == before


def test_an_open_stream_does_not_keep_a_stopped_server_alive(server: Server) -> None:
    server.start()
    pusher = Pusher(Tablet("tab-1", setup=SETUP), server.url).admit(new_code(server.data))
    with pusher.client.stream("GET", "/api/sync/hints") as stream:
        assert next(stream.iter_lines()).startswith("event: head")
        asked = time.monotonic()
        assert server.stop() in {0, -signal.SIGTERM}
        assert time.monotonic() - asked < STOP_WITHIN_S


def test_the_demonstration_is_filled_once_and_kept(demo_data: Path, tmp_path: Path) -> None:
    data = tmp_path / "data"
    shutil.copytree(demo_data, data)
    before = records_of(data)
    with Server(data, command="demo") as server:
        printed = server.log.read_text()
        assert get(f"{server.url}/api/health").status_code == httpx.codes.OK
    assert before[1] > 1000
    assert records_of(data) == before
    assert "B-01   operator  4101         bench-b01" in printed
    assert f"{server.url}/bench" in printed
    assert f"{server.url}/bench#enrol=" in printed


def test_the_demonstration_does_not_mix_with_a_real_shop(run: Run, server: Server) -> None:
    server.start()
    server.stop()
    result = run("demo", "--port", free_port())
    assert result.exit_code == 1
    assert "holds a shop of its own" in result.output


def test_a_port_in_use_is_named_and_nothing_is_made(run: Run, data: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = other.getsockname()[1]
        result = run("demo", "--port", port)
    assert result.exit_code == 1
    assert f"Another program uses 127.0.0.1:{port}" in result.output
    assert not list(data.iterdir())


def test_a_folder_that_cannot_be_made_is_refused_by_name(run: Run, data: Path) -> None:
    data.write_text("a file stands here")
    result = run("serve", "--port", free_port())
    assert result.exit_code == 1
    assert f"The data folder {data} cannot be written" in result.output


def test_an_address_of_another_machine_is_refused(run: Run) -> None:
    result = run("serve", "--host", "203.0.113.7", "--port", free_port())
    assert result.exit_code == 1
    assert "not an address of this machine" in result.output


def test_a_setting_that_cannot_be_used_is_named(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CLAMPBOOK_PORT", "eighty")
    result = run("serve")
    assert result.exit_code == 1
    assert "CLAMPBOOK_PORT" in result.output


def test_a_postgresql_that_does_not_answer_is_one_sentence(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    url = f"postgresql://nobody@127.0.0.1:{free_port()}/shop"
    monkeypatch.setenv("CLAMPBOOK_DATABASE_URL", url)
    result = run("serve", "--port", free_port())
    assert result.exit_code == 1
    assert "cannot be reached" in result.output
    assert "Traceback" not in result.output


def test_a_shop_on_postgresql_is_served_checked_and_dumped(
    run: Run, data: Path, postgres_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Server(data, database_url=postgres_url) as server:
        answer = get(f"{server.url}/api/health").json()
    assert answer["database"] == "postgresql"
    monkeypatch.setenv("CLAMPBOOK_DATABASE_URL", postgres_url)
    assert "postgresql, form" in run("doctor").output
    assert run("dump").exit_code == 0
    assert not list(data.glob("*.sqlite3"))
