"""`backup` and `restore` as commands, beside a real server and against kills."""

from __future__ import annotations

import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import httpx
import pytest

from api.backing import Shelf
from api.settings import Settings
from api.storage.engine import Database
from tests.cli.conftest import Run
from tests.support.checkout import ROOT
from tests.support.invariants import all_sent, assert_invariants
from tests.support.net import get, wait_until
from tests.support.pusher import Pusher, new_code
from tests.support.script import Tablet
from tests.support.server import Server
from tests.support.shop import STEPS, Shop

SETUP = "01920000-0000-7000-8000-00000000beef"
MakeServer = Callable[..., Server]


def newest(data: Path) -> Path:
    found = Shelf(data / "backups").newest()
    assert found is not None
    return found.folder


def test_a_backup_and_its_restore_say_what_they_did_and_what_is_to_do(
    run: Run, shop: Shop, data: Path
) -> None:
    shop.database.close()
    made = run("backup")
    assert made.exit_code == 0, made.output
    assert "checked" in made.output and "as secret as the shop" in made.output
    done = run("restore", newest(data))
    assert done.exit_code == 0, done.output
    assert "is kept as" in done.output
    assert "Do these again under Crew" in done.output
    assert list(data.glob("replaced-*"))
    assert not list(data.glob(".restoring-*"))


def test_a_server_backs_itself_up_within_a_minute_of_its_start(shop: Shop, data: Path) -> None:
    shop.database.close()
    with Server(data, environment={"CLAMPBOOK_BACKUP_EVERY_H": "1"}) as server:
        wait_until(lambda: Shelf(data / "backups").newest() is not None, what="a backup")
        assert get(f"{server.url}/api/health").json()["backed_up_at"]
        assert not get(f"{server.url}/api/health").json()["backups_fail"]


def test_a_backup_goes_where_it_is_told(run: Run, shop: Shop, tmp_path: Path) -> None:
    assert run("backup", "--out", tmp_path / "elsewhere").exit_code == 0
    assert len(Shelf(tmp_path / "elsewhere").all()) == 1


def test_what_cannot_be_restored_is_one_sentence(run: Run, shop: Shop, tmp_path: Path) -> None:
    result = run("restore", tmp_path)
    assert result.exit_code == 1
    assert "is not a finished backup" in result.output
    assert "Traceback" not in result.output


def test_nothing_is_restored_under_a_running_server(
    run: Run, shop: Shop, data: Path, server: MakeServer
) -> None:
    shop.database.close()
    run("backup")
    running = server(data).start()
    epoch = get(f"{running.url}/api/health").json()["epoch"]
    refused = run("restore", newest(data))
    assert refused.exit_code == 1
    assert "Stop it first" in refused.output
    assert get(f"{running.url}/api/health").json()["epoch"] == epoch
    running.kill()
    assert run("restore", newest(data)).exit_code == 0


def test_a_live_tablet_sends_a_restored_server_what_it_lacks(
    run: Run, shop: Shop, data: Path, server: MakeServer
) -> None:
    shop.database.close()
    running = server(data).start()
    tablet = Tablet("tab-9", setup=SETUP)
    with httpx.Client(base_url=running.url, timeout=60) as client:
        pusher = Pusher(tablet, client).admit(new_code(data))
        tablet.open()
        list(tablet.work(STEPS[:5]))
        before = pusher.push().json()
        assert run("backup").exit_code == 0
        list(tablet.work(STEPS[5:9]))
        assert {one["outcome"] for one in pusher.push().json()["results"]} == {"already", "stored"}
        running.kill()
        assert run("restore", newest(data)).exit_code == 0
        running.start()
        assert pusher.push().status_code == 401
        pusher.open_session().raise_for_status()
        again = pusher.push().json()
        assert again["epoch"] != before["epoch"]
        assert again["watermark"] >= before["head"]
        assert {one["outcome"] for one in again["results"]} == {"already", "stored"}
        last = pusher.push().json()
        assert {one["outcome"] for one in last["results"]} == {"already"}
        assert last["contiguous"] == len(tablet.texts)
    running.kill()
    database = Database(Settings(data=data).database)
    assert_invariants(database, [all_sent("tab-9", tablet.texts)])
    database.close()


@pytest.mark.parametrize("sign", [signal.SIGKILL, signal.SIGTERM])
def test_a_backup_that_is_killed_leaves_nothing_that_counts(
    run: Run, shop: Shop, data: Path, sign: signal.Signals
) -> None:
    shop.database.close()
    shelf = Shelf(data / "backups")
    command = [sys.executable, "-m", "api", "backup", "--data", str(data)]
    process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL)
    while not list(shelf.folder.glob(".making-*")):
        assert process.poll() is None, "the backup ended unseen"
    process.send_signal(sign)
    assert process.wait(60) != 0
    assert shelf.all() == []
    assert run("backup").exit_code == 0
    assert len(shelf.all()) == 1
    assert not list(shelf.folder.glob(".making-*"))
