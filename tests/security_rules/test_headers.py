"""What a browser is told with every answer: pages, problems, documentation and files alike."""

from __future__ import annotations

import shutil
from pathlib import Path

import httpx
import pytest

from api.app import create_app
from api.settings import Settings
from tests.routes.office.visitor import Site
from tests.security_rules.inside import Inside, token_on
from tests.security_rules.paths import changes, reads

FILES = [
    "/static/office.css",
    "/static/office.js",
    "/static/bench.js",
    "/static/docs/swagger-ui-bundle.js",
    "/static/nothing.js",
    "/static/",
]
LOST = ["/nowhere", "/api/nothing", "/plates/NONE", "/sw.js", "/plates/" + 5000 * "x"]
POLICY = {
    "default-src 'none'",
    "script-src 'self'",
    "style-src 'self'",
    "img-src 'self' data:",
    "font-src 'self'",
    "connect-src 'self'",
    "manifest-src 'self'",
    "worker-src 'self'",
    "object-src 'none'",
    "frame-ancestors 'none'",
    "form-action 'self'",
    "base-uri 'none'",
}


def assert_guarded(answer: httpx.Response) -> None:
    headers, where = answer.headers, f"{answer.request.method} {answer.request.url}"
    assert set(headers["content-security-policy"].split("; ")) == POLICY, where
    assert headers["x-content-type-options"] == "nosniff", where
    assert headers["referrer-policy"] == "same-origin", where
    assert headers["cross-origin-opener-policy"] == "same-origin", where
    assert headers["cross-origin-embedder-policy"] == "require-corp", where
    assert headers["cross-origin-resource-policy"] == "same-origin", where
    assert headers["x-frame-options"] == "DENY", where
    assert "camera=(self)" in headers["permissions-policy"], where
    assert "server" not in headers, where
    assert "access-control-allow-origin" not in headers, where


@pytest.mark.parametrize("badge", ["", "B-05"])
def test_every_answer_carries_the_policy_of_the_house(site: Site, badge: str) -> None:
    paths = [*reads(), *FILES, *LOST]
    assert len(paths) > 30
    with site.visitor(badge) as visitor:
        for path in paths:
            with visitor.client.stream("GET", path) as answer:
                assert answer.status_code < 500, path
                assert_guarded(answer)
        for method, path in changes():
            assert_guarded(visitor.client.request(method, path))
            assert_guarded(visitor.client.options(path))


def test_what_holds_data_is_kept_by_no_browser(site: Site) -> None:
    without_data = ("/static/", "/bench", "/recover", "/ready", "/sw.js")
    with site.visitor("B-05") as visitor:
        for path in [*reads(), *LOST]:
            with visitor.client.stream("GET", path) as answer:
                kept = answer.headers["cache-control"]
            if path.startswith(without_data):
                assert kept in ("no-cache", "no-store"), path
            elif path.startswith("/api/sync/"):
                assert kept in ("no-cache", "no-store"), path  # asked for again by its ETag
            else:
                assert kept == "no-store", path


def test_text_says_how_it_is_written(site: Site) -> None:
    with site.visitor("B-05") as visitor:
        for path in [*reads(), *FILES, *LOST]:
            with visitor.client.stream("GET", path) as answer:
                kind = answer.headers.get("content-type", "")
            if kind.startswith("text/"):
                assert "charset=utf-8" in kind, path


@pytest.fixture
def over_https(filled_data: Path, tmp_path: Path) -> Inside:
    shutil.copytree(filled_data, tmp_path / "https")
    return Inside(create_app(Settings(data=tmp_path / "https", database_url="")))


def test_over_https_a_browser_stays_there(over_https: Inside, site: Site) -> None:
    for path in ("/sign-in", "/static/office.css", "/api/health", "/nowhere"):
        told = over_https.get(path).headers["strict-transport-security"]
        assert "includeSubDomains" not in told  # other names are not this server's to bind
        assert int(told.partition("max-age=")[2].partition(";")[0]) >= 365 * 24 * 3600
    with site.visitor() as visitor:
        assert "strict-transport-security" not in visitor.get("/sign-in").headers


def test_an_answer_to_the_unforeseen_is_guarded_and_tells_no_internals(
    filled_data: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("secret of /etc/shop at 0x7f")

    shutil.copytree(filled_data, tmp_path / "data")
    monkeypatch.setattr("api.use_cases.crew.who", broken)
    app = create_app(Settings(data=tmp_path / "data", database_url=""))
    with pytest.raises(RuntimeError):  # the server's log gets it
        Inside(app).get("/")
    answer = Inside(app, raises=False).get("/")
    assert answer.status_code == 500
    assert_guarded(answer)
    assert answer.headers["cache-control"] == "no-store"
    assert "The log says what" in answer.text
    for hidden in ("secret of", "RuntimeError", "Traceback", "0x7f"):
        assert hidden not in answer.text


def test_the_link_of_a_code_leads_to_the_shops_own_address(over_https: Inside) -> None:
    over_https.app.state.origin = "https://bench.shop.test"
    page = over_https.get("/sign-in")
    fields = {"csrf": token_on(page), "badge": "B-03", "password": "bench-b03"}
    over_https.post("/sign-in", **fields)
    fields = {"csrf": token_on(over_https.get("/add-tablet")), "name": "Bench 9"}
    headers = {"Host": "elsewhere.test"}
    answer = over_https.ask("POST", "/add-tablet", data=fields, headers=headers)
    assert 'href="https://bench.shop.test/bench#enrol=' in answer.text
    assert "elsewhere.test" not in answer.text


def test_no_redirect_and_no_link_is_built_from_the_host_that_was_named(site: Site) -> None:
    with site.visitor("B-05") as visitor:
        for path in [*reads(), "/plates/", "/crew/", "//elsewhere.test/plates/"]:
            headers = {"Host": "elsewhere.test", "X-Forwarded-Host": "elsewhere.test"}
            with visitor.client.stream("GET", path, headers=headers) as answer:
                onward = answer.headers.get("location", "/")
                assert onward.startswith("/") and not onward.startswith("//"), path
                if "event-stream" not in answer.headers.get("content-type", ""):
                    text = answer.read().decode(errors="replace")
                    found = text.count("elsewhere.test") - text.count("//elsewhere.test/plates/")
                    assert found == 0, path
