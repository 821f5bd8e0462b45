"""Screenshots of everything: `python -m tests.browser.walk --out FOLDER [--url URL --data FOLDER]`.

Goes through a whole setup of the demonstration shop and every office page, in three sizes.
"""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path

from playwright.sync_api import Browser, Page, ViewportSize, sync_playwright

from tests.browser.chromium import launch
from tests.browser.office import Office
from tests.browser.office_pages import office_pages
from tests.browser.record import ask
from tests.browser.tablet import Tablet
from tests.browser.tour import Tour
from tests.support.server import Server

SIZES: tuple[ViewportSize, ...] = (
    {"width": 1280, "height": 800},
    {"width": 1024, "height": 768},
    {"width": 390, "height": 844},
)
DESIGN = "SAD-20"
TOOL, INDICATOR, BADGE, PIN = "T-05", "I-01", "B-01", "4101"


def camera(page: Page, out: Path, part: str) -> Callable[[str], None]:
    """Takes the named screen in every size and leaves it in the first."""

    def take(name: str) -> None:
        for size in SIZES:
            page.set_viewport_size(size)
            file = out / f"{part}-{name}-{size['width']}x{size['height']}.png"
            page.screenshot(path=file, animations="disabled")
        page.set_viewport_size(SIZES[0])

    return take


def free_plate(url: str) -> str:
    """A plate of the demonstration's main design that a setup can be started on."""
    plates = ask(url, "/api/plates").raise_for_status().json()["plates"]
    free = [one["serial"] for one in plates if (one["design"], one["state"]) == (DESIGN, "free")]
    if not free:
        raise SystemExit(f"No plate of {DESIGN} is free at {url}; finish or abandon a setup first.")
    return str(free[0])


def walk_bench(browser: Browser, url: str, out: Path) -> None:
    tablet = Tablet(browser, url, SIZES[0])
    take = camera(tablet.page, out, "bench")
    tablet.offer_code()
    take("enrol")
    tablet.open()
    tour = Tour(tablet, take)
    tour.whole_setup(free_plate(url), TOOL, INDICATOR, BADGE, PIN)
    tablet.close()


def walk_office(browser: Browser, url: str, out: Path) -> None:
    office = Office(browser, url, SIZES[0])
    take = camera(office.page, out, "office")
    office.open("/sign-in")
    take("sign-in")
    office.sign_in("B-05")
    for name, path in office_pages(url).items():
        office.open(path)
        take(name)
    office.close()


def walk(url: str, out: Path) -> None:
    out.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as playwright:
        browser = launch(playwright)
        walk_bench(browser, url, out)
        walk_office(browser, url, out)
        browser.close()


def main() -> None:
    words = argparse.ArgumentParser(prog="python -m tests.browser.walk", description=__doc__)
    words.add_argument("--out", type=Path, required=True, help="folder for the pictures")
    words.add_argument("--url", help="a running demonstration; without it one is made and ended")
    words.add_argument("--data", type=Path, help="its folder, where a tablet's code is made")
    given = words.parse_args()
    with ExitStack() as ending:
        url = given.url
        if url is not None and given.data is None:
            words.error("--url needs --data, the folder of the demonstration that runs there")
        if url is not None:
            Server.folders[url.rstrip("/")] = given.data
        else:
            folder = ending.enter_context(tempfile.TemporaryDirectory())
            url = ending.enter_context(Server(Path(folder) / "shop", command="demo")).url
        walk(url.rstrip("/"), given.out)
    pictures = len(list(given.out.glob("*.png")))
    print(f"{pictures} pictures are in {given.out.absolute()}.")  # noqa: T201 the command's answer


if __name__ == "__main__":
    main()
