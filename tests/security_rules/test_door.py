"""Who gets in where: every route but the few open ones asks, and each role only does its own."""

from __future__ import annotations

import httpx
import pytest

from tests.routes.office.visitor import Site
from tests.security_rules.paths import changes, reads
from tests.security_rules.test_origin import everything

# Open on purpose: the way in, what holds no data, and what says that the server is there.
OPEN = {
    "/",
    "/sign-in",
    "/stores",  # leads on to a shelf, which asks
    "/bench",
    "/bench.webmanifest",
    "/recover",
    "/sw.js",
    "/api/docs",
    "/api/health",
    "/api/openapi.json",
    "/api/ready",
    "/ready",
    "/ready/worker.js",
}
# Open to change, and guarded by what is sent: a password, a code, a signed nonce.
OPEN_TO_CHANGE = {
    "/sign-in",
    "/sign-out",
    "/api/tablets/enrol",
    "/api/tablets/challenge",
    "/api/tablets/session",
    "/api/ready",
}


def test_every_route_but_the_open_ones_asks_who_is_there(site: Site) -> None:
    with site.visitor() as stranger:
        for path in reads():
            with stranger.client.stream("GET", path) as answer:
                asked = answer.status_code == httpx.codes.UNAUTHORIZED or (
                    answer.status_code == httpx.codes.SEE_OTHER
                    and answer.headers["location"].startswith("/sign-in")
                )
                assert asked or path in OPEN, f"{path}: {answer.status_code}"
        before = everything(site)
        token = stranger.token("/sign-in")
        for method, path in changes():
            if path in OPEN_TO_CHANGE:
                continue
            if path.startswith("/api/"):
                answer = stranger.client.request(method, path, json={})
            else:
                answer = stranger.client.request(method, path, data={"csrf": token})
            assert answer.status_code == httpx.codes.UNAUTHORIZED, f"{path}: {answer.status_code}"
        assert everything(site) == before


def test_an_auditor_changes_nothing(site: Site) -> None:
    own = {"/sign-in", "/sign-out"}
    with site.visitor("B-03") as lead:
        lead.send("/crew/B-01/role", role="auditor")
    with site.visitor("B-01") as auditor:
        before = everything(site)
        token = auditor.token()
        fields = {"csrf": token, "reason": "r", "role": "owner", "badge": "B-20", "text": "x"}
        for method, path in changes():
            if path in own or path.startswith("/api/"):
                continue
            answer = auditor.client.request(method, path, data=fields)
            assert answer.status_code in (403, 404), f"{path}: {answer.status_code}"
        assert everything(site) == before


@pytest.mark.parametrize(
    "path",
    [
        "/static/",
        "/static/docs/",
        "/static/../../api/app.py",
        "/static/%2e%2e/%2e%2e/pyproject.toml",
        "/static/..%2f..%2fpyproject.toml",
        "/static//etc/passwd",
        "/static/%00",
        "/.git/config",
        "/static/../.git/config",
    ],
)
def test_a_folder_of_files_is_not_listed_and_none_outside_it_is_served(
    site: Site, path: str
) -> None:
    with site.visitor("B-05") as visitor:
        answer = visitor.client.get(httpx.URL(visitor.client.base_url, raw_path=path.encode()))
    assert answer.status_code == httpx.codes.NOT_FOUND
    assert "[project]" not in answer.text
