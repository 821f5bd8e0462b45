"""The office as its people use it: by its links, labels and buttons."""

from __future__ import annotations

import re

from playwright.sync_api import Browser, Locator, Response, ViewportSize, expect

from tests.browser.chromium import PATIENCE_MS, TABLET, Complaints


def password_of(badge: str) -> str:
    """Demonstration passwords follow the badge."""
    return f"bench-{badge.lower().replace('-', '')}"


class Office:
    """One browser window in the office, with its own cookies."""

    def __init__(self, browser: Browser, url: str, viewport: ViewportSize = TABLET) -> None:
        self.url = url
        self.complaints = Complaints()
        self.context = browser.new_context(viewport=viewport, accept_downloads=True)
        self.context.set_default_timeout(PATIENCE_MS)
        self.complaints.listen(self.context)
        self.page = self.context.new_page()

    def expect_refusals(self) -> None:
        """From here on the server may refuse; the browser reports each refusal as an error."""
        self.complaints.expected = ("the server responded with a status of 4",)

    def open(self, path: str) -> Response:
        response = self.page.goto(self.url + path)
        assert response is not None
        return response

    def sign_in(self, badge: str, password: str = "") -> None:
        self.open("/sign-in")
        self.fill("Badge", badge)
        self.fill("Password", password or password_of(badge))
        self.press("Sign in")
        if not password:
            expect(self.page.get_by_role("navigation", name="Main")).to_be_visible()

    def fill(self, label: str, text: str) -> None:
        """Write into the field of this label; a label may go on with a hint."""
        field = self.page.get_by_label(re.compile(rf"^{re.escape(label)}(\s|$)"))
        field.and_(self.page.locator("input, textarea")).fill(text)

    def choose(self, label: str, option: str) -> None:
        self.page.get_by_label(label, exact=True).select_option(option)

    def press(self, name: str) -> None:
        self._leave(self.page.get_by_role("button", name=name, exact=True))

    def follow(self, name: str) -> None:
        self._leave(self.page.get_by_role("link", name=name, exact=True).first)

    def _leave(self, target: Locator) -> None:
        """Click, and wait until the page it leads to is there to its last row."""
        target.click()
        self.page.wait_for_load_state()

    def upload(self, name: str, text: str) -> None:
        """Choose a file of this name and content on the page for loading designs."""
        self.page.set_input_files(
            "input[type=file]",
            {"name": name, "mimeType": "text/plain", "buffer": text.encode()},
        )
        self.press("Check the file")

    @property
    def main(self) -> Locator:
        return self.page.locator("main")

    def says(self, text: str) -> None:
        expect(self.main).to_contain_text(text)

    def rows(self, region: str) -> list[str]:
        """The texts of a table's body rows."""
        table = self.page.get_by_role("region", name=region, exact=True)
        return table.locator("tbody tr").all_inner_texts()

    def download(self, link: str) -> str:
        with self.page.expect_download() as started:
            self.page.get_by_role("link", name=link, exact=True).click()
        return started.value.path().read_text("utf-8")

    def close(self) -> None:
        self.context.close()
