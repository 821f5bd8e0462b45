"""A real server, killed with SIGKILL around a commit or ended politely with a stream open."""

from __future__ import annotations

import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import httpx
import pytest

from api.app import create_app
from api.settings import Settings
from tests.support.net import PATIENCE_S, free_port, post, wait_until
from tests.support.pusher import Pusher, new_code
from tests.support.script import Tablet
from tests.support.server import Server
from tests.support.shop import SETUP, STEPS, Shop, make_shop, session_cookie
from tests.support.site import client_of
from tests.sync.test_faults import assert_sound

NTH = 7


@pytest.fixture
def configured(new_database_url: str, tmp_path: Path) -> Settings:
    return Settings(data=tmp_path / "data", database_url=new_database_url)


@pytest.fixture
def killed_shop(configured: Settings) -> Iterator[Shop]:
    shop = make_shop(configured.database, configured.keys)
    yield shop
    shop.database.close()


def worked(shop: Shop) -> Tablet:
    tablet = shop.tablet()
    events = [tablet.open(), *tablet.work(STEPS, "sign")]
    shop.sign(tablet, events, "4101")
    return tablet


def body(tablet: Tablet) -> dict[str, object]:
    return {"tablet": tablet.name, "build": "test", "events": tablet.texts, "sigs": tablet.sigs()}


@pytest.mark.parametrize(("when", "kept"), [("before", NTH - 1), ("after", NTH)])
def test_a_server_killed_around_a_commit_has_kept_what_it_committed_and_no_more(
    killed_shop: Shop, configured: Settings, when: str, kept: int
) -> None:
    shop, tablet, port = killed_shop, worked(killed_shop), free_port()
    cookies = session_cookie(shop, tablet)
    words = [str(configured.data), configured.database, str(port), when, str(NTH)]
    process = subprocess.Popen([sys.executable, "-m", "tests.support.dying", *words])
    try:
        wait_until(lambda: answers(port), what="start of the server")
        with pytest.raises(httpx.TransportError):
            post(f"http://127.0.0.1:{port}/api/sync/push", body(tablet), cookies=cookies)
        assert process.wait(PATIENCE_S) == -9
    finally:
        process.kill()
        process.wait()
    with shop.reader as uow:
        stored = [one.text for one in uow.events.after(0, 1000)]
    assert stored == tablet.texts[:kept]
    with client_of(create_app(configured)) as client:
        client.cookies.update(cookies)
        taken = client.post("/api/sync/push", json=body(tablet)).json()
    outcomes = [one["outcome"] for one in taken["results"]]
    assert outcomes == ["already"] * kept + ["stored"] * (len(tablet.texts) - kept)
    assert taken["contiguous"] == len(tablet.texts)
    assert_sound(shop, tablet.texts)


def answers(port: int) -> bool:
    try:
        return httpx.get(f"http://127.0.0.1:{port}/api/plates", timeout=5).status_code == 401
    except httpx.TransportError:
        return False


def test_a_server_with_an_open_stream_ends_within_five_seconds(
    server: Callable[..., Server], sqlite_url: str
) -> None:
    running = server(database_url=sqlite_url).start()
    code = new_code(running.data, database_url=sqlite_url)
    pusher = Pusher(Tablet("tab-1", setup=SETUP), running.url).admit(code)
    lines: list[str] = []

    def listen() -> None:
        with pusher.client.stream("GET", "/api/sync/hints") as stream:
            lines.extend(stream.iter_lines())

    thread = threading.Thread(target=listen)
    thread.start()
    wait_until(lambda: bool(lines), what="a first hint")
    began = time.monotonic()
    running.stop()
    assert time.monotonic() - began < 5
    thread.join(PATIENCE_S)
    assert not thread.is_alive()
    assert lines[0] == "event: head"
