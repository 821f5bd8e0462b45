"""When the records cannot be written or read: 503, when to come back, and nothing half done."""

from __future__ import annotations

from pathlib import Path

import pytest

from api.app import create_app
from api.domain.errors import Unavailable
from api.routes.api.sessions import TABLET_COOKIE
from api.settings import Settings
from api.storage.unit_of_work import SqlUnitOfWork
from tests.routes.api.test_reading import assert_problem
from tests.support.pusher import Pusher
from tests.support.shop import Shop
from tests.support.site import client_of


def test_a_failed_commit_is_never_answered_with_success(
    configured: Settings, shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_self: SqlUnitOfWork) -> None:
        raise Unavailable("The disk is full.")

    tablet = shop.tablet()
    tablet.open()
    with client_of(create_app(configured)) as client:
        pusher = Pusher(tablet, client)
        pusher.open_session().raise_for_status()
        monkeypatch.setattr(SqlUnitOfWork, "commit", full)
        answer = pusher.push()
        assert_problem(answer, 503, "unavailable")
        assert answer.headers["retry-after"] == "5"
        assert_problem(client.get("/api/health"), 503, "unavailable")
        monkeypatch.undo()
        assert client.get("/api/sync/pull").json()["events"] == []
        again = pusher.push().json()
    assert [one["outcome"] for one in again["results"]] == ["stored"]


def test_a_database_that_is_gone_is_a_problem_and_not_a_crash(tmp_path: Path) -> None:
    settings = Settings(data=tmp_path, database_url="postgresql://nobody@127.0.0.1:1/none")
    with client_of(create_app(settings)) as client:
        client.cookies.set(TABLET_COOKIE, "x")
        for path in ("/api/health", "/api/plates", "/api/sync/pull", "/api/sync/shop"):
            answer = client.get(path)
            # Once the guard has noticed, it says so before the route is asked.
            assert_problem(
                answer, 503, "read-only" if "read-only" in answer.text else "unavailable"
            )
        page = client.get("/plates", headers={"cookie": "clampbook_session=x"})
    assert page.status_code == 503
    assert page.headers["content-type"].startswith("text/html")


def test_a_database_from_before_the_first_start_is_a_problem(tmp_path: Path) -> None:
    with client_of(create_app(Settings(data=tmp_path))) as client:
        client.cookies.set(TABLET_COOKIE, "x")
        assert client.get("/api/plates").status_code == 503
