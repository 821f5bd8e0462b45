"""A page of another site changes nothing here, whatever it sends and whoever is signed in."""

from __future__ import annotations

from typing import Any

import httpx
import pytest
from sqlalchemy import inspect
from starlette.datastructures import Headers

from api.routes.guards.origin import is_own
from tests.routes.office.visitor import Site, Visitor
from tests.security_rules.paths import changes

FOREIGN: list[dict[str, str]] = [
    {"Sec-Fetch-Site": "cross-site"},
    {"Sec-Fetch-Site": "same-site"},
    {"Sec-Fetch-Site": "rubbish"},
    {"Origin": "https://elsewhere.test"},
    {"Origin": "null"},
    {"Origin": "http://127.0.0.1"},
    {"Origin": "http://[broken"},
    {"Sec-Fetch-Site": "same-origin", "Origin": "https://elsewhere.test"},
]


def everything(site: Site) -> dict[str, list[Any]]:
    """All rows of all tables."""
    with site.database.reader.connect() as connection:
        return {
            table: sorted(
                map(repr, connection.exec_driver_sql(f'SELECT * FROM "{table}"').fetchall())
            )
            for table in inspect(connection).get_table_names()
        }


def sent(visitor: Visitor, method: str, path: str, headers: dict[str, str]) -> httpx.Response:
    """What a foreign page would send at best: the right kind of body and a token that fits."""
    if path.startswith("/api/"):
        return visitor.client.request(method, path, json={}, headers=headers)
    fields = {"csrf": visitor.token(), "reason": "r", "role": "owner", "badge": "B-02"}
    return visitor.client.request(method, path, data=fields, headers=headers)


def test_every_change_sent_from_another_site_is_refused_and_changes_nothing(site: Site) -> None:
    routes = changes()
    assert ("POST", "/api/sync/push") in routes
    assert ("POST", "/crew/B-02/deactivate") in routes
    with site.visitor("B-05") as visitor:
        before = everything(site)
        for method, path in routes:
            for headers in FOREIGN:
                if path == "/sign-in" and headers is not FOREIGN[0]:
                    continue  # it counts tries
                answer = sent(visitor, method, path, headers)
                assert answer.status_code == httpx.codes.FORBIDDEN, f"{path} {headers}"
        assert everything(site) == before


def test_our_own_pages_and_programs_are_heard(site: Site) -> None:
    with site.visitor("B-03") as visitor:
        own = str(visitor.client.base_url).rstrip("/")
        for path, headers in (
            ("/crew/B-02/deactivate", {}),
            ("/crew/B-02/activate", {"Origin": own}),
            ("/crew/B-02/deactivate", {"Sec-Fetch-Site": "same-origin", "Origin": own}),
        ):
            answer = visitor.client.post(path, data={"csrf": visitor.token()}, headers=headers)
            assert answer.status_code == httpx.codes.SEE_OTHER, answer.text


def test_over_https_a_page_of_the_same_name_without_it_is_foreign() -> None:
    def own(origin: str, scheme: str) -> bool:
        return is_own(Headers({"host": "shop.test", "origin": origin}), scheme)

    assert own("https://shop.test", "https")
    assert not own("http://shop.test", "https")
    assert own("http://shop.test", "http")
    assert own("https://shop.test", "http")  # behind a proxy that holds the certificate
    assert not own("https://shop.test:8443", "https")


@pytest.mark.parametrize(
    "kind",
    ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x", ""],
)
def test_json_is_taken_only_as_json(site: Site, kind: str) -> None:
    with site.visitor() as visitor:
        headers = {"Content-Type": kind} if kind else {}
        answer = visitor.client.post("/api/sync/push", content=b"{}", headers=headers)
    assert answer.status_code == httpx.codes.UNSUPPORTED_MEDIA_TYPE
    assert answer.json()["code"] == "other-media-type"
    assert "application/json" in answer.json()["detail"]


def test_a_form_is_taken_only_as_a_form(lead: Visitor) -> None:
    answer = lead.client.post("/plates/SAD-20-001/hold", json={"csrf": lead.token()})
    assert answer.status_code == httpx.codes.UNSUPPORTED_MEDIA_TYPE
    assert "x-www-form-urlencoded" in answer.text


def test_a_safe_method_changes_nothing(site: Site) -> None:
    with site.visitor("B-05") as visitor:
        before = everything(site)
        for _, path in changes():
            for method in ("GET", "HEAD", "OPTIONS", "TRACE"):
                visitor.client.request(method, path)
        assert everything(site) == before
