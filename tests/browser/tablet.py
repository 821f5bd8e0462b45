"""Tablets at the clamping bench, each with its own records."""

from __future__ import annotations

from playwright.sync_api import Browser, BrowserContext, Page, ViewportSize

from tests.browser.bench import Bench
from tests.browser.chromium import PATIENCE_MS, TABLET, Complaints, Profile

TURNED_AWAY = "the server responded with a status of 401"


class Tablet(Bench):
    """A tablet whose records last as long as its browser context."""

    def __init__(self, browser: Browser, url: str, viewport: ViewportSize = TABLET) -> None:
        self.complaints = Complaints()
        self.context = browser.new_context(viewport=viewport, has_touch=True)
        self.complaints.listen(self.context)
        self.context.set_default_timeout(PATIENCE_MS)
        super().__init__(self.context.new_page(), url)

    def close(self) -> None:
        self.context.close()


class KilledTablet(Bench):
    """A tablet with a profile on disk: its browser can be killed, closed and started again."""

    def __init__(self, profile: Profile, url: str) -> None:
        self.profile = profile
        self.complaints = Complaints()
        self.context: BrowserContext | None = None
        super().__init__(self._new_page(), url)

    def kill(self) -> None:
        """Its cookie may not have reached the disk; then the server turns it away once."""
        self.profile.kill()
        self.context = None
        self.complaints.expected = (TURNED_AWAY,)

    def quit(self) -> None:
        """Close the browser in good order."""
        if self.context is not None:
            self.context.close()
            self.context = None

    def restart(self) -> None:
        """A new browser process on the same profile."""
        self.page = self._new_page()

    def close(self) -> None:
        self.quit()
        self.profile.remove()

    def _new_page(self) -> Page:
        self.context = self.profile.start()
        self.context.set_default_timeout(PATIENCE_MS)
        self.complaints.listen(self.context)
        return self.context.pages[0]
