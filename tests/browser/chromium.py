"""Debian's own Chromium, driven by Playwright; nothing is ever downloaded."""

from __future__ import annotations

import os
import shutil
import signal
from dataclasses import dataclass, field
from pathlib import Path

from playwright.sync_api import (
    Browser,
    BrowserContext,
    ConsoleMessage,
    Playwright,
    ViewportSize,
    WebError,
)

from tests.support.net import PATIENCE_S, wait_until

PROGRAM = "/usr/bin/chromium"
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
PATIENCE_MS = 1000 * PATIENCE_S
TABLET: ViewportSize = {"width": 1280, "height": 800}
NO_ANSWER = ("net::ERR_", "ERR_CONNECTION_REFUSED")


@dataclass
class Complaints:
    """What the browser complained of: errors on the console and exceptions nobody caught."""

    server_may_vanish: bool = False
    expected: tuple[str, ...] = ()
    found: list[str] = field(default_factory=list)

    def listen(self, context: BrowserContext) -> None:
        context.on("console", self._console)
        context.on("weberror", self._error)

    def _console(self, message: ConsoleMessage) -> None:
        if message.type == "error":
            self._take(f"{message.text} ({message.location['url']})")

    def _error(self, error: WebError) -> None:
        self._take(f"{error.error.name}: {error.error.message}\n{error.error.stack}")

    def _take(self, text: str) -> None:
        if self.server_may_vanish and any(part in text for part in NO_ANSWER):
            return
        if not any(part in text for part in self.expected):
            self.found.append(text)


def launch(playwright: Playwright, *flags: str) -> Browser:
    """A browser whose contexts keep nothing; several tests may share it."""
    return playwright.chromium.launch(executable_path=PROGRAM, args=[*FLAGS, *flags])


class Profile:
    """A browser with its own profile folder: it can be killed and started again on the same data."""

    def __init__(self, playwright: Playwright, folder: Path) -> None:
        self._playwright = playwright
        self._folder = folder

    def start(self, viewport: ViewportSize = TABLET) -> BrowserContext:
        return self._playwright.chromium.launch_persistent_context(
            str(self._folder), executable_path=PROGRAM, args=[*FLAGS], viewport=viewport
        )

    def kill(self) -> None:
        """As when the battery falls out: SIGKILL to the browser, nothing is written any more."""
        process = self._process()
        os.kill(process, signal.SIGKILL)
        wait_until(lambda: not _alive(process), what=f"end of Chromium {process}")
        self._lock.unlink(missing_ok=True)

    def remove(self) -> None:
        shutil.rmtree(self._folder, ignore_errors=True)

    @property
    def _lock(self) -> Path:
        return self._folder / "SingletonLock"

    def _process(self) -> int:
        """Chromium names itself in the profile's lock: `host-number`."""
        return int(str(self._lock.readlink()).rpartition("-")[2])


def _alive(process: int) -> bool:
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False
