"""The shop's own certificate in a real browser: trusted, not trusted, clicked away, and misused."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Error, Page, Playwright, ViewportSize, expect

from api.security.tls import certificates
from api.security.tls.certificates import make_leaf, read_pair
from api.security.tls.names import Names
from tests.browser.chromium import TABLET
from tests.browser.looks import axe_findings, overflow
from tests.browser.shop_folder import copy_folder
from tests.browser.tablet import Tablet
from tests.browser.trusting import device, trust, watched_page
from tests.support.server import Server
from tests.support.tls_server import TlsServer

SIZES: tuple[ViewportSize, ...] = (
    TABLET,
    {"width": 1024, "height": 768},
    {"width": 390, "height": 844},
)
CHECKS = ["secure", "origin", "worker", "records", "signing", "persistence", "wake", "clock"]
# What a browser may leave open without harm.
MAY_BE_NOTES = {"persistence", "wake"}
REFUSED = "net::ERR_CERT_"
NOT_ENROLLED = "status of 401"
PAST_THE_WARNING = "#proceed-link"
KEPT = """async () => [document.cookie, (await indexedDB.databases()).length,
  (await navigator.serviceWorker.getRegistrations()).length, (await caches.keys()).length]"""
WORKER_LEFT = "navigator.serviceWorker.getRegistration('/ready/').then((kept) => Boolean(kept))"
BENCH_WORKER = """navigator.serviceWorker.getRegistration('/bench')
  .then((kept) => kept?.active?.state ?? 'none')"""


@pytest.fixture(scope="module")
def tls_shop(filled_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[TlsServer]:
    folder = copy_folder(filled_folder, tmp_path_factory.mktemp("tls") / "shop")
    with TlsServer(folder) as started:
        yield started


@pytest.fixture(scope="module")
def trusting(
    playwright: Playwright, tls_shop: TlsServer, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Browser]:
    home = tmp_path_factory.mktemp("trusting")
    trust(home, tls_shop.authority)
    with device(playwright, home) as browser:
        yield browser


@pytest.fixture(scope="module")
def stranger(playwright: Playwright, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    with device(playwright, tmp_path_factory.mktemp("stranger")) as browser:
        yield browser


def checked(page: Page) -> dict[str, str]:
    """The state of every check, once all have ended."""
    expect(page.locator("main[data-ready]")).to_be_visible()
    found = page.locator("[data-check]").evaluate_all(
        "(lines) => lines.map((line) => [line.dataset.check, line.dataset.state])"
    )
    states = dict(found)
    assert list(states) == CHECKS
    for name, state in states.items():
        line = page.locator(f'[data-check="{name}"]')
        expect(line.locator(".state")).to_have_text(state)
        expect(line.locator(".todo")).to_have_count(0 if state == "passed" else 1)
    return states


def failed(states: dict[str, str]) -> set[str]:
    return {name for name, state in states.items() if state == "failed"}


def test_a_device_that_trusts_the_authority_is_ready_and_the_bench_registers_its_worker(
    trusting: Browser, tls_shop: TlsServer
) -> None:
    with watched_page(trusting, NOT_ENROLLED) as page:
        page.goto(tls_shop.welcome)
        page.locator("[data-ready-link]").click()
        assert page.url == f"{tls_shop.url}/ready"
        states = checked(page)
        assert {name for name, state in states.items() if state != "passed"} <= MAY_BE_NOTES
        assert page.evaluate(WORKER_LEFT) is False
        page.get_by_role("link", name="Open the bench").click()
        page.wait_for_url(f"{tls_shop.url}/bench")
        page.wait_for_function(f"{BENCH_WORKER}.then((state) => state === 'activated')")
        assert page.evaluate("isSecureContext")


def test_a_tablet_enrols_and_signs_over_https_and_starts_again_when_the_server_is_gone(
    trusting: Browser, tls_shop: TlsServer
) -> None:
    tablet = Tablet(trusting, tls_shop.url)
    tablet.open()
    tablet.shell_is_kept()
    expect(tablet.find("plate", "SAD-20-001")).to_be_visible()
    cookies = {cookie["name"]: cookie for cookie in tablet.context.cookies()}
    assert cookies and all(cookie["secure"] and cookie["httpOnly"] for cookie in cookies.values())
    tablet.start_setup()
    tablet.main()
    tablet.all_on_server()
    tablet.complaints.server_may_vanish = True
    tls_shop.stop()
    try:
        tablet.page.reload()
        expect(tablet.page.locator('main[data-screen="resume"]')).to_be_visible()
    finally:
        tls_shop.start()
    tablet.close()
    assert tablet.complaints.found == []


def test_a_stranger_is_warned_and_clicking_the_warning_away_does_not_help(
    stranger: Browser, tls_shop: TlsServer
) -> None:
    with watched_page(stranger, REFUSED, "SSL certificate error") as page:
        with pytest.raises(Error, match="net::ERR_CERT_AUTHORITY_INVALID"):
            page.goto(f"{tls_shop.url}/ready")
        page.get_by_role("button", name="Advanced").click()
        page.locator(PAST_THE_WARNING).click()
        states = checked(page)
        assert states["secure"] == "passed"  # so it looks, which is the trap
        assert failed(states) == {"worker"}
        line = page.locator('[data-check="worker"]')
        expect(line).to_contain_text("The service worker cannot be registered")
        expect(line).to_contain_text("a warning was clicked away, which does not count")
        expect(page.locator("#verdict")).to_contain_text("not ready: 1 of 8 checks failed")
        back = page.get_by_role("link", name="Back to the welcome page")
        expect(back).to_have_attribute("href", f"{tls_shop.welcome}/")


def test_the_browser_refuses_what_the_authority_was_never_allowed_to_vouch_for(
    trusting: Browser, tls_shop: TlsServer, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As if the authority's key had been stolen: it counts for this shop and nothing else."""
    monkeypatch.setattr(certificates, "permits", lambda *_: True)
    authority = read_pair((tls_shop.data / "keys/authority.pem").read_bytes())
    now, lasts = dt.datetime.now(dt.UTC), dt.timedelta(days=90)
    for name, taken in (("clamp.test", True), ("bank.test", False)):
        forged = tmp_path / f"{name}.pem"
        forged.write_bytes(make_leaf(authority, Names(name, ()), now, lasts).pem())
        more = {"CLAMPBOOK_TLS_CERT": str(forged), "CLAMPBOOK_TLS_KEY": str(forged)}
        with (
            TlsServer(tmp_path / name, name=name, tls="files", more=more) as server,
            watched_page(trusting, REFUSED) as page,
        ):
            if taken:
                page.goto(f"{server.url}/ready")
                checked(page)
            else:
                with pytest.raises(Error, match=REFUSED):
                    page.goto(f"{server.url}/ready")


def test_another_name_leads_to_the_one_origin_and_keeps_nothing(
    trusting: Browser, tls_shop: TlsServer
) -> None:
    with watched_page(trusting) as page:
        other = f"https://127.0.0.1:{tls_shop.port}"
        page.goto(f"{other}/ready?from=address")
        assert page.url == f"{tls_shop.url}/ready?from=address"
        checked(page)
        assert page.context.cookies(other) == []
        stored = page.context.storage_state(indexed_db=True)
        assert [one["origin"] for one in stored["origins"] if "127.0.0.1" in one["origin"]] == []


def test_localhost_needs_none_of_this(shared_shop: Server, stranger: Browser) -> None:
    with watched_page(stranger) as page:
        page.goto(f"http://localhost:{shared_shop.port}/ready")
        assert failed(checked(page)) == set()


def test_plain_http_under_a_name_is_told_what_it_lacks(
    shared_shop: Server, stranger: Browser
) -> None:
    with watched_page(stranger, "Cross-Origin-Opener-Policy") as page:
        page.goto(f"http://clamp.test:{shared_shop.port}/ready")
        assert failed(checked(page)) == {"secure", "worker", "signing"}
        expect(page.locator('[data-check="secure"] .todo')).to_contain_text("begins with https://")


def test_a_server_that_does_not_answer_and_one_that_refuses_are_told_apart(
    trusting: Browser, tls_shop: TlsServer
) -> None:
    with watched_page(trusting, "ERR_FAILED") as page:
        page.route("**/api/ready", lambda route: route.abort())
        page.goto(f"{tls_shop.url}/ready")
        assert failed(checked(page)) == {"origin", "signing"}
        page.unroute("**/api/ready")
    with watched_page(trusting, "422") as page:

        def spoil(route: object) -> None:
            body = {**route.request.post_data_json, "signature": "A" * 86 + "=="}  # type: ignore[attr-defined]
            route.continue_(post_data=body)  # type: ignore[attr-defined]

        page.route(
            "**/api/ready",
            lambda route: spoil(route) if route.request.method == "POST" else route.continue_(),
        )
        page.goto(f"{tls_shop.url}/ready")
        assert failed(checked(page)) == {"signing"}
        expect(page.locator('[data-check="signing"]')).to_contain_text(
            "does not belong to this key"
        )


def test_a_wrong_clock_is_measured(trusting: Browser, tls_shop: TlsServer) -> None:
    with watched_page(trusting) as page:
        page.clock.set_fixed_time(dt.datetime.now(dt.UTC) + dt.timedelta(hours=5))
        page.goto(f"{tls_shop.url}/ready")
        assert checked(page)["clock"] == "note"
        expect(page.locator('[data-check="clock"]')).to_contain_text("5 hours ahead of the server")


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size['width']}")
def test_both_pages_fit_every_size_and_can_be_read_by_all(
    trusting: Browser, tls_shop: TlsServer, size: ViewportSize
) -> None:
    with watched_page(trusting) as page:
        page.set_viewport_size(size)
        page.goto(tls_shop.welcome)
        for steps in page.locator("details").all():
            if steps.get_attribute("open") is None:
                steps.locator("summary").click()
        assert overflow(page) + axe_findings(page) == []
        page.goto(f"{tls_shop.url}/ready")
        checked(page)
        assert overflow(page) + axe_findings(page) == []
