"""A real server that computes beside its work, is killed while it does, and starts again."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from api.domain.records import Computation
from api.paths import share
from api.settings import Settings
from api.use_cases import designs
from tests.support.net import get, wait_until
from tests.support.server import Server
from tests.support.shop import ENGINEER, Shop, make_shop, session_cookie, stock

TEXT = (share("seed_data") / "designs/SAD-20-B.toml").read_text()
WITHIN_S = 60
STOP_WITHIN_S = 5


@pytest.fixture
def shop(new_database_url: str, tmp_path: Path) -> Iterator[Shop]:
    settings = Settings(data=tmp_path / "data", database_url=new_database_url)
    made = make_shop(settings.database, settings.keys)
    stock(made)
    yield made
    made.database.close()


@pytest.fixture
def running(server: Callable[..., Server], shop: Shop, new_database_url: str) -> Server:
    return server(database_url=new_database_url).start()


def load(shop: Shop) -> None:
    text = TEXT.replace('revision = "B"', 'revision = "C"')
    assert designs.load_design(shop.uow, shop.means, text, ENGINEER).revision is not None


def stored(shop: Shop) -> Computation:
    with shop.reader as uow:
        found = uow.analyses.of("SAD-20", "C")
    assert found is not None
    return found


def wait_for(shop: Shop, condition: Callable[[Computation], bool], what: str) -> None:
    wait_until(lambda: condition(stored(shop)), within_s=WITHIN_S, what=what)


def computing(parent: int | None = None) -> list[int]:
    """Processes that compute now."""
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            words = (folder / "cmdline").read_bytes().split(b"\0")
            status = (folder / "stat").read_text().rpartition(") ")[2].split()
        except OSError:
            continue
        mine = parent is None or int(status[1]) == parent
        if b"api.analysing.child" in words and status[0] != "Z" and mine:
            found.append(int(folder.name))
    return found


def tablet(shop: Shop) -> dict[str, str]:
    return session_cookie(shop, shop.tablet())


def alive(pid: int) -> bool:
    return pid in computing()


def test_a_computation_survives_a_killed_server_and_its_process_does_not(
    running: Server, shop: Shop
) -> None:
    load(shop)
    wait_for(shop, lambda one: one.state == "running" and one.progress > 0, "progress")
    (child,) = computing(running.pid)
    running.kill()
    wait_until(lambda: not alive(child), within_s=5, what="end of the computing process")
    assert stored(shop).state == "running"
    running.start()
    wait_for(shop, lambda one: one.state == "done", "the computation begun anew")
    answer = get(f"{running.url}/api/designs/SAD-20/C/analysis", cookies=tablet(shop))
    assert answer.json()["revision"] == "C"
    assert computing(running.pid) == []


@pytest.mark.parametrize("new_database_url", ["sqlite"], indirect=True)
def test_a_server_that_computes_answers_and_ends_within_seconds(
    running: Server, shop: Shop
) -> None:
    load(shop)
    wait_for(shop, lambda one: one.state == "running" and one.progress > 0, "progress")
    (child,) = computing(running.pid)
    answer = get(f"{running.url}/api/designs/SAD-20/C/analysis", cookies=tablet(shop))
    assert "is still running" in answer.json()["detail"]
    asked = time.monotonic()
    running.stop()
    assert time.monotonic() - asked < STOP_WITHIN_S
    assert not alive(child)
    assert stored(shop).state == "queued"
