"""Chromium as a device of its own: with a home folder whose store holds the shop's authority, or none."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, BrowserContext, Page, Playwright

from tests.browser.chromium import FLAGS, PATIENCE_MS, PROGRAM, TABLET, Complaints

# Names of this network lead to this machine.
NAMES = "--host-resolver-rules=MAP *.test 127.0.0.1"
OpenBrowser = Callable[..., Browser]


def trust(home: Path, certificate: Path) -> None:
    """What the welcome page tells a person with Linux to do."""
    store = home / ".pki/nssdb"
    store.mkdir(parents=True)
    run = ["certutil", "-d", f"sql:{store}"]
    for words in (
        ["-N", "--empty-password"],
        ["-A", "-t", "C,,", "-n", "shop", "-i", str(certificate)],
    ):
        subprocess.run([*run, *words], check=True, capture_output=True)


@contextmanager
def device(playwright: Playwright, home: Path) -> Iterator[Browser]:
    home.mkdir(exist_ok=True)
    browser = playwright.chromium.launch(
        executable_path=PROGRAM, args=[*FLAGS, NAMES], env={**os.environ, "HOME": str(home)}
    )
    yield browser
    browser.close()


@contextmanager
def watched_page(browser: Browser, *expected: str) -> Iterator[Page]:
    """A page of a fresh context; what the browser complains of, but for the expected, fails."""
    complaints = Complaints(expected=expected)
    context: BrowserContext = browser.new_context(viewport=TABLET)
    context.set_default_timeout(PATIENCE_MS)
    complaints.listen(context)
    yield context.new_page()
    context.close()
    assert complaints.found == []
