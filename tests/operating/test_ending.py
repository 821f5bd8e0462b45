"""An end that is asked for comes within seconds, with status 0 and nothing half-written."""

from __future__ import annotations

import json
import os
import signal
import socket
import sqlite3
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing
from pathlib import Path

import httpx
import pytest

from api.paths import share
from api.settings import Settings
from api.use_cases import designs
from tests.support.invariants import all_sent, assert_invariants
from tests.support.net import PATIENCE_S, wait_until
from tests.support.pusher import Pusher
from tests.support.server import Server
from tests.support.shop import ENGINEER, STEPS, Shop, make_shop, stock

WITHIN_S = 5
STREAMS = 20


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    settings = Settings(data=tmp_path / "data")
    made = make_shop(settings.database, settings.keys)
    stock(made)
    yield made
    made.database.close()


@pytest.fixture
def running(shop: Shop, server: Callable[..., Server], tmp_path: Path) -> Server:
    return server(tmp_path / "data").start()


@pytest.fixture
def pusher(shop: Shop, running: Server) -> Iterator[Pusher]:
    tablet = shop.tablet("tab-9")
    tablet.open()
    list(tablet.work(STEPS))
    with httpx.Client(base_url=running.url, timeout=PATIENCE_S) as client:
        made = Pusher(tablet, client)
        made.open_session().raise_for_status()
        yield made


def end(server: Server) -> float:
    """Seconds until the process was gone, with status 0."""
    asked = time.monotonic()
    assert server.stop() == 0, server.log.read_text()
    return time.monotonic() - asked


def half_a_push(server: Server, cookie: str) -> socket.socket:
    """A body that is announced and never comes whole."""
    sender = socket.create_connection(("127.0.0.1", server.port))
    head = (
        "POST /api/sync/push HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\n"
        f"Cookie: clampbook_tablet={cookie}\r\nContent-Length: 1000\r\n\r\n"
    )
    sender.sendall(head.encode() + b'{"tablet": "tab-9", "events": [')
    return sender


def test_streams_a_slow_sender_and_a_computation_do_not_hold_the_end_up(
    shop: Shop, running: Server, pusher: Pusher
) -> None:
    text = (share("seed_data") / "designs/SAD-20-B.toml").read_text()
    designs.load_design(
        shop.uow, shop.means, text.replace('revision = "B"', 'revision = "C"'), ENGINEER
    )

    def computed() -> str:
        with shop.reader as uow:
            found = uow.analyses.of("SAD-20", "C")
        return found.state if found else ""

    streams = list[Iterator[str]]()
    with ExitStack() as open_ends:
        for _ in range(STREAMS):
            stream = open_ends.enter_context(pusher.client.stream("GET", "/api/sync/hints"))
            streams.append(stream.iter_lines())
            assert next(streams[-1]).startswith("event: head")
        open_ends.enter_context(half_a_push(running, pusher.client.cookies["clampbook_tablet"]))
        wait_until(lambda: computed() == "running", what="a computation")
        assert end(running) < WITHIN_S
    assert computed() in ("queued", "done")
    assert_invariants(shop.database)


def test_a_push_in_flight_is_answered_or_sent_again(
    shop: Shop, running: Server, pusher: Pusher
) -> None:
    answers: list[httpx.Response | httpx.TransportError] = []

    def send() -> None:
        try:
            answers.append(pusher.push())
        except httpx.TransportError as problem:
            answers.append(problem)

    def begun() -> bool:
        with shop.reader as uow:
            return uow.events.find(json.loads(pusher.tablet.texts[0])["id"]) is not None

    sender = threading.Thread(target=send)
    sender.start()
    wait_until(begun, what="the first event of the push")
    assert end(running) < WITHIN_S
    sender.join(PATIENCE_S)
    (answer,) = answers
    if isinstance(answer, httpx.Response):
        assert answer.status_code == httpx.codes.OK
        assert len(answer.json()["results"]) == len(pusher.tablet.texts)
    running.start()
    again = pusher.push().json()
    assert {one["outcome"] for one in again["results"]} <= {"already", "stored"}
    assert again["contiguous"] == len(pusher.tablet.texts)
    assert_invariants(shop.database, [all_sent("tab-9", pusher.tablet.texts)])


def test_a_push_that_waits_for_a_lock_is_cut_off_and_keeps_nothing(
    shop: Shop, running: Server, pusher: Pusher, tmp_path: Path
) -> None:
    file = Settings(data=tmp_path / "data").database.removeprefix("sqlite:///")
    statuses: list[int] = []

    def send() -> None:
        try:
            statuses.append(pusher.push().status_code)
        except httpx.TransportError:
            statuses.append(0)

    with closing(sqlite3.connect(file, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        sender = threading.Thread(target=send)
        sender.start()
        wait_until(lambda: waits_for_a_lock(running), what="a push that waits")
        assert end(running) < WITHIN_S
    sender.join(PATIENCE_S)
    assert statuses in ([0], [500], [503])
    with shop.reader as uow:
        assert uow.events.count() == 0
    running.start()
    assert {one["outcome"] for one in pusher.push().json()["results"]} == {"stored"}


def waits_for_a_lock(server: Server) -> bool:
    """Whether a thread of the server sleeps in SQLite's own waiting."""
    threads = Path(f"/proc/{server.pid}/task").glob("*/wchan")
    return any("nanosleep" in one.read_text() for one in threads)


def test_a_second_signal_changes_nothing(running: Server) -> None:
    os.kill(running.pid, signal.SIGTERM)
    assert end(running) < WITHIN_S
