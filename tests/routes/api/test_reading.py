"""The JSON API for reading: every answer in its documented form, every problem in one form."""

from __future__ import annotations

from typing import Any

import httpx
import pytest

from tests.support.shop import SETUP, STEPS, Shop


@pytest.fixture
def signed(shop: Shop) -> Shop:
    tablet = shop.tablet()
    events = [tablet.open(), *tablet.work(STEPS, "sign")]
    shop.sign(tablet, events, "4101")
    shop.push(tablet)
    return shop


def assert_problem(answer: httpx.Response, status: int, code: str) -> dict[str, Any]:
    assert answer.status_code == status
    assert answer.headers["content-type"] == "application/problem+json"
    body: dict[str, Any] = answer.json()
    assert body["status"] == status
    assert body["code"] == code
    assert body["type"] == f"urn:clampbook:{code}"
    assert body["title"]
    assert body["detail"]
    return body


def test_health_writes_a_row_and_reads_it_back(client: httpx.Client, shop: Shop) -> None:
    first = client.get("/api/health").json()
    assert first["status"] == "ok"
    assert first["database"] == shop.database.url.get_backend_name()
    with shop.reader as uow:
        before = uow.shop.probed()
    client.get("/api/health")
    with shop.reader as uow:
        assert uow.shop.probed() not in (None, before)


def test_designs_are_listed_with_their_revisions(client: httpx.Client) -> None:
    body = client.get("/api/designs").json()
    assert [one["code"] for one in body["designs"]] == ["SAD-20"]
    assert body["designs"][0]["newest"] == "B"
    assert body["designs"][0]["plates"] == ["SAD-20-001"]
    assert body["designs"][0]["revisions"][0]["state"] == "released"


def test_a_revision_comes_with_its_document_and_sheet(client: httpx.Client) -> None:
    body = client.get("/api/designs/SAD-20/revisions/B").json()
    assert body["document"] == {"code": "SAD-20"}
    assert body["sheet"]["steps"] == STEPS


def test_a_plate_shows_the_state_its_setups_leave_it_in(client: httpx.Client, signed: Shop) -> None:
    assert client.get("/api/plates").json()["plates"][0]["state"] == "ready"
    plate = client.get("/api/plates/SAD-20-001").json()
    assert plate["last_setup"] == SETUP
    assert plate["usual"]["A/torqued locked"] == {"median_mm": 0.03, "n": 1}
    assert plate["open_setup"] is None


def test_a_plates_history_lists_its_setups_by_page(client: httpx.Client, signed: Shop) -> None:
    body = client.get("/api/plates/SAD-20-001/history").json()
    assert (body["page"], body["pages"], body["total"]) == (1, 1, 1)
    assert body["setups"][0]["id"] == SETUP
    assert body["setups"][0]["signature"] == "confirmed"
    empty = client.get("/api/plates/SAD-20-001/history", params={"page": 9}).json()
    assert (empty["setups"], empty["total"]) == ([], 1)


def test_a_setup_is_the_whole_record(client: httpx.Client, signed: Shop) -> None:
    body = client.get(f"/api/setups/{SETUP}").json()
    assert body["summary"]["phase"] == "signed"
    assert body["state"]["phase"] == "signed"
    assert [one["event"]["kind"] for one in body["events"]][-1] == "signed"
    assert body["signatures"][0]["verdict"] == "confirmed"
    assert body["events"][0]["event"]["data"]["plate"] == "SAD-20-001"


NOWHERE = [
    "/api/designs/NONE/revisions/A",
    "/api/designs/SAD-20/revisions/Z",
    "/api/plates/NONE",
    "/api/plates/NONE/history",
    f"/api/setups/{SETUP}",
    "/api/nothing",
    "/api",
]


def test_what_is_not_there_is_a_problem_that_says_so(client: httpx.Client) -> None:
    for path in NOWHERE:
        assert_problem(client.get(path), 404, "not-found")


MALFORMED = [
    "/api/plates/SAD-20-001/history?page=0",
    "/api/plates/SAD-20-001/history?page=-1",
    "/api/plates/SAD-20-001/history?page=two",
    "/api/plates/SAD-20-001/history?page=1e9",
    "/api/plates/SAD-20-001/history?page=99999999999999999999",
    "/api/plates/SAD-20-001/history?per_page=100000",
    "/api/plates/%00",
    "/api/plates/a%20b",
    "/api/setups/1",
    f"/api/setups/{SETUP.upper()}x",
    f"/api/designs/{'x' * 500}/revisions/A",
    "/api/sync/pull?after=-1",
    "/api/sync/pull?after=99999999999999999999999",
    "/api/sync/pull?limit=0",
]


def test_a_malformed_parameter_is_a_problem_that_names_it(client: httpx.Client) -> None:
    for path in MALFORMED:
        assert assert_problem(client.get(path), 422, "bad-input")["field"], path


def test_another_method_is_a_problem(client: httpx.Client) -> None:
    answer = client.delete("/api/plates")
    assert_problem(answer, 405, "method-not-allowed")
    assert "GET" in answer.headers["allow"]


def test_every_answer_carries_the_security_headers(client: httpx.Client) -> None:
    for path in ("/api/health", "/api/nothing", "/api/docs", "/nothing", "/bench"):
        headers = client.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "same-origin"


def test_the_documentation_page_asks_for_nothing_from_outside(client: httpx.Client) -> None:
    page = client.get("/api/docs").text
    assert "//" not in page.replace("<!doctype", "")
    assert "<script>" not in page
    assert "style=" not in page
    assert client.get("/api/openapi.json").json()["openapi"].startswith("3.1")
