"""By hand, as root: the server and a browser on two networks of their own, joined by one wire.

`python -m tests.bench.two_machines` makes two network namespaces, serves a new shop in one by its
address, and does in the other what a new tablet does: welcome page, warning, trust, readiness, bench.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Error, Page, Playwright, sync_playwright

from tests.browser.chromium import FLAGS, PATIENCE_MS, PROGRAM
from tests.browser.trusting import trust
from tests.support.checkout import ROOT
from tests.support.net import wait_until

SHOP, TABLET = "clampbook-shop", "clampbook-tablet"
ADDRESSES = {SHOP: "192.168.77.1", TABLET: "192.168.77.2"}
WELCOME = f"http://{ADDRESSES[SHOP]}:8000/"
BENCH_WORKER = """navigator.serviceWorker.getRegistration('/bench')
  .then((kept) => kept?.active?.state === 'activated')"""


def ip(*words: str) -> None:
    subprocess.run(["ip", *words], check=True)


@contextmanager
def two_networks() -> Iterator[None]:
    try:
        for name in ADDRESSES:
            ip("netns", "add", name)
        ip("link", "add", "cbw0", "netns", SHOP, "type", "veth", "peer", "cbw1", "netns", TABLET)
        for (name, address), wire in zip(ADDRESSES.items(), ("cbw0", "cbw1"), strict=True):
            ip("-n", name, "addr", "add", f"{address}/24", "dev", wire)
            ip("-n", name, "link", "set", wire, "up")
            ip("-n", name, "link", "set", "lo", "up")
        yield
    finally:
        for name in ADDRESSES:
            subprocess.run(["ip", "netns", "del", name], check=False)


@contextmanager
def shop(folder: Path) -> Iterator[None]:
    command = [sys.executable, "-m", "api", "serve", "--data", str(folder), "--host", "0.0.0.0"]  # noqa: S104
    process = subprocess.Popen(
        ["ip", "netns", "exec", SHOP, *command, "--name", ADDRESSES[SHOP]], cwd=ROOT
    )
    try:
        wait_until(lambda: answers(WELCOME), what="the welcome page")
        yield
    finally:
        process.terminate()
        process.wait()


def answers(url: str) -> bool:
    """Asked from the tablet's side of the wire."""
    code = f"import urllib.request as r; r.urlopen('{url}', timeout=2)"
    command = ["ip", "netns", "exec", TABLET, sys.executable, "-c", code]
    return subprocess.run(command, capture_output=True, check=False).returncode == 0


@contextmanager
def page_of(playwright: Playwright, home: Path) -> Iterator[Page]:
    """Chromium inside the tablet's network; it has no other."""
    home.mkdir(exist_ok=True)
    script = home / "chromium"
    script.write_text(f'#!/bin/sh\nexec ip netns exec {TABLET} {PROGRAM} "$@"\n')
    script.chmod(0o700)
    browser = playwright.chromium.launch(
        executable_path=script, args=[*FLAGS], env={**os.environ, "HOME": str(home)}
    )
    page = browser.new_page()
    page.set_default_timeout(PATIENCE_MS)
    yield page
    browser.close()


def main() -> None:
    with (
        tempfile.TemporaryDirectory() as folder,
        two_networks(),
        shop(Path(folder, "shop")),
        sync_playwright() as playwright,
    ):
        certificate = Path(folder, "authority.crt")
        with page_of(playwright, Path(folder, "stranger")) as page:
            as_stranger(page, certificate)
        home = Path(folder, "trusting")
        trust(home, certificate)
        with page_of(playwright, home) as page:
            as_one_of_the_shop(page)


def as_stranger(page: Page, certificate: Path) -> None:
    page.goto(WELCOME)
    with page.expect_download() as taken:
        page.locator("[data-certificate]").click()
    taken.value.save_as(certificate)
    try:
        page.goto(str(page.locator("[data-ready-link]").get_attribute("href")))
    except Error as error:
        print("not trusted:", error.message.splitlines()[0])
    else:
        sys.exit("A stranger was let in without a warning.")


def as_one_of_the_shop(page: Page) -> None:
    page.goto(WELCOME)
    page.locator("[data-ready-link]").click()
    page.locator("main[data-ready]").wait_for()
    print("trusted:", page.url, page.locator("#verdict h2").inner_text())
    for line in page.locator("[data-check]").all():
        print("", line.get_attribute("data-check"), line.get_attribute("data-state"))
    page.get_by_role("link", name="Open the bench").click()
    page.wait_for_function(BENCH_WORKER)
    print("bench:", page.url, "worker activated")


if __name__ == "__main__":
    main()
