"""What the log of a real server holds after a day's work, and what it never holds."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from sqlalchemy import text

from api.settings import Settings
from api.use_cases import crew
from tests.routes.office.visitor import Visitor
from tests.support.net import PATIENCE_S, wait_until
from tests.support.pusher import Pusher, new_code
from tests.support.server import Server
from tests.support.shop import OWNER, STEPS, Shop, make_shop

PASSWORD, WRONG = "clamp plate bench 81", "quartz anvil 55 wrong"
PIN = "7295"


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    settings = Settings(data=tmp_path / "data")
    made = make_shop(settings.database, settings.keys)
    crew.set_password(made.uow, made.means, OWNER.badge, PASSWORD, OWNER)
    yield made
    made.database.close()


@pytest.fixture
def running(shop: Shop, tmp_path: Path) -> Iterator[Server]:
    with Server(tmp_path / "data", environment={"CLAMPBOOK_LOG": "json"}) as server:
        yield server


def lines(server: Server) -> list[dict[str, object]]:
    found = [line for line in server.log.read_text().splitlines() if line.startswith("{")]
    return [json.loads(line) for line in found]


def last(server: Server, request_id: str) -> dict[str, object]:
    """The request's line, which is written when its answer has gone."""

    def theirs() -> list[dict[str, object]]:
        return [
            one
            for one in lines(server)
            if one.get("request") == request_id and one["event"] == "request"
        ]

    wait_until(lambda: bool(theirs()), what="a line in the log")
    return theirs()[-1]


def test_a_day_of_work_leaves_no_secret_in_the_log(
    shop: Shop, running: Server, tmp_path: Path
) -> None:
    code = new_code(tmp_path / "data")
    secrets = {PASSWORD, WRONG, PIN, code, code.replace("-", "")}
    with httpx.Client(base_url=running.url, timeout=PATIENCE_S) as client:
        visitor = Visitor(client)
        assert visitor.sign_in(OWNER.badge, WRONG).status_code == 401
        assert visitor.sign_in(OWNER.badge, PASSWORD).status_code == 303
        set_pin = visitor.send("/crew/B-01/pin", "/crew/B-01", pin=PIN, pin_yours=PASSWORD)
        assert set_pin.status_code == 303, set_pin.text
        visitor.get(f"/setups?looked={PIN}")
        secrets |= {value for value in client.cookies.values() if value}
        secrets.add(visitor.token())
    tablet = shop.tablet("tab-9")
    with httpx.Client(base_url=running.url, timeout=PATIENCE_S) as client:
        pusher = Pusher(tablet, client)
        assert pusher.enrol(code, tablet=f"{tablet.name}x").status_code in (201, 403, 409, 422)
        pusher.open_session().raise_for_status()
        secrets |= {value for value in client.cookies.values() if value}
        tablet.open()
        covered = [tablet.do(step) for step in STEPS[:3]]
        signed = shop.sign(tablet, covered, "4101")
        secrets.add(str(signed.data["sealed"]))
        pushed = pusher.push()
        client.post("/api/sync/push", content=f'{{"tablet": "{code}'.encode())
        told = last(running, pushed.headers["x-request-id"])
    assert (told["route"], told["status"], told["tablet"]) == ("/api/sync/push", 200, "tab-9")
    written = running.log.read_text()
    found = {one for one in secrets if one in written}
    assert len(secrets) > 8
    assert not found
    assert {"/sign-in", "/crew/{badge}/pin", "/api/tablets/enrol"} <= {
        one.get("route") for one in lines(running)
    }


def test_a_line_has_the_route_and_not_the_name_in_it(running: Server) -> None:
    answer = httpx.get(f"{running.url}/api/plates/SAD-20-001?x=y", timeout=PATIENCE_S)
    told = last(running, answer.headers["x-request-id"])
    assert told["route"] == "/api/plates/{serial}"
    assert told["method"] == "GET" and told["client"] == "127.0.0.1"
    assert isinstance(told["ms"], float) and told["status"] == answer.status_code
    assert "SAD-20-001" not in json.dumps(told)


def test_health_and_the_front_ends_files_are_not_logged(running: Server) -> None:
    httpx.get(f"{running.url}/api/health", timeout=PATIENCE_S)
    httpx.get(f"{running.url}/static/office.css", timeout=PATIENCE_S)
    answer = httpx.get(f"{running.url}/nowhere", timeout=PATIENCE_S)
    last(running, answer.headers["x-request-id"])
    assert [one.get("status") for one in lines(running) if one["event"] == "request"] == [404]


def test_a_failure_nobody_foresaw_is_in_the_log_with_its_place_and_the_id_in_the_answer(
    shop: Shop, running: Server
) -> None:
    with shop.database.writer.begin() as connection:
        connection.execute(
            text("UPDATE shop_meta SET value = 'no number' WHERE name = 'watermark'")
        )
        connection.execute(
            text(
                "INSERT INTO shop_meta (name, value) SELECT 'watermark', 'no number' WHERE NOT EXISTS "
                "(SELECT 1 FROM shop_meta WHERE name = 'watermark')"
            )
        )
    answer = httpx.get(f"{running.url}/api/health", timeout=PATIENCE_S)
    assert answer.status_code == 500
    request_id = answer.headers["x-request-id"]
    assert answer.json()["request_id"] == request_id
    wait_until(
        lambda: any(one["event"] == "failed" for one in lines(running)), what="a failure in the log"
    )
    (failed,) = [one for one in lines(running) if one["event"] == "failed"]
    assert failed["request"] == request_id and failed["error"] == "ValueError"
    assert re.search(r"storage/queries/shop\.py:\d+ meta", str(failed["trace"]))
    assert "Traceback" not in running.log.read_text()
