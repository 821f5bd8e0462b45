"""One filled shop for the run, one browser for each worker, servers and tablets for each test."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Playwright, ViewportSize, expect, sync_playwright

from tests.browser.chromium import PATIENCE_MS, TABLET, Profile, launch
from tests.browser.office import Office
from tests.browser.shop_folder import add_plates, copy_folder, fill_folder
from tests.browser.tablet import KilledTablet, Tablet
from tests.support.once import made_once
from tests.support.server import Server

BENCH_SETUPS = 24
OFFICE_SETUPS = 60
SPARE_PLATES = [f"SAD-20-{number}" for number in range(101, 141)]

MakeTablet = Callable[..., Tablet]
MakeKilledTablet = Callable[..., KilledTablet]
MakeOffice = Callable[..., Office]


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="session")
def browser(playwright: Playwright) -> Iterator[Browser]:
    """Shared by tests that need no profile of their own; each takes a fresh context of it."""
    started = launch(playwright)
    yield started
    started.close()


@pytest.fixture(scope="session")
def filled_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop with little history, which a new tablet fetches quickly."""
    return made_once(
        tmp_path_factory, "bench-shop", lambda folder: fill_folder(folder, BENCH_SETUPS)
    )


@pytest.fixture(scope="session")
def office_shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A shop with more than a page of history, for tests that only look."""
    filled = made_once(
        tmp_path_factory, "office-shop", lambda folder: fill_folder(folder, OFFICE_SETUPS)
    )
    with Server(copy_folder(filled, tmp_path_factory.mktemp("office") / "shop")) as started:
        yield started


@pytest.fixture(scope="session")
def shared_shop(filled_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """One running shop for bench tests that leave the server alone; each takes a `plate`."""
    folder = copy_folder(filled_folder, tmp_path_factory.mktemp("shared") / "shop")
    add_plates(folder, SPARE_PLATES)
    with Server(folder) as started:
        yield started


@pytest.fixture(scope="session")
def spare_plates() -> Iterator[str]:
    return iter(SPARE_PLATES)


@pytest.fixture
def plate(spare_plates: Iterator[str]) -> str:
    """A plate of the shared shop that no other test uses."""
    return next(spare_plates)


@pytest.fixture
def shop(filled_folder: Path, tmp_path: Path) -> Iterator[Server]:
    """The demonstration shop, running, for this test alone to change, stop and start again."""
    with Server(copy_folder(filled_folder, tmp_path / "shop")) as started:
        yield started


@pytest.fixture
def tablet(browser: Browser) -> Iterator[MakeTablet]:
    """Makes tablets (`tablet(url)`); what their browsers complained of fails the test."""
    made: list[Tablet] = []

    def make(url: str, viewport: ViewportSize = TABLET) -> Tablet:
        made.append(Tablet(browser, url, viewport))
        return made[-1]

    yield make
    for each in made:
        each.close()
    assert [text for each in made for text in each.complaints.found] == []


@pytest.fixture
def insecure_page(playwright: Playwright) -> Iterator[Tablet]:
    """A browser that knows this machine by a name it does not trust without a certificate."""
    browser = launch(playwright, "--host-resolver-rules=MAP clamp.test 127.0.0.1")
    made = Tablet(browser, "")
    yield made
    made.close()
    browser.close()
    assert made.complaints.found == []


@pytest.fixture
def killed_tablet(playwright: Playwright, tmp_path: Path) -> Iterator[MakeKilledTablet]:
    """Makes tablets whose browser can be killed and started again on the same profile."""
    made: list[KilledTablet] = []

    def make(url: str) -> KilledTablet:
        profile = Profile(playwright, tmp_path / f"profile-{len(made)}")
        made.append(KilledTablet(profile, url))
        return made[-1]

    yield make
    for each in made:
        each.close()
    assert [text for each in made for text in each.complaints.found] == []


@pytest.fixture
def office(browser: Browser) -> Iterator[MakeOffice]:
    """Makes office desks (`office(url, "B-03")`), signed in when a badge is named."""
    made: list[Office] = []

    def make(url: str, badge: str = "", viewport: ViewportSize = TABLET) -> Office:
        made.append(Office(browser, url, viewport))
        if badge:
            made[-1].sign_in(badge)
        return made[-1]

    yield make
    for each in made:
        each.close()
    assert [text for each in made for text in each.complaints.found] == []
