"""The bench as an operator uses it: taps in the page, and waits for what follows on the screen."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from playwright.sync_api import Locator, Page, expect

from tests.browser.chromium import PATIENCE_MS
from tests.browser.enrolling import code_for
from tests.browser.touches import until_moved, wait_until_open, was_taken, watch
from tests.support.net import wait_until

READING_MM = "0.01"
HOLD_MS = 800
TRIES = 5
BURST = """(keys) => keys.filter((key) => !document.activeElement.dispatchEvent(
  new KeyboardEvent('keydown', {key, bubbles: true, cancelable: true})))"""
ROWS = """(store) => new Promise((found, failed) => {
  const opening = indexedDB.open('clampbook-bench');
  opening.onerror = () => failed(opening.error);
  opening.onsuccess = () => {
    const db = opening.result;
    const asked = db.transaction(store).objectStore(store).getAll();
    asked.onsuccess = () => { db.close(); found(asked.result); };
  };
})"""
STEP = "(root) => [root.dataset.step, root.dataset.stepId]"
WORKERS = """() => navigator.serviceWorker.getRegistration('/bench').then((kept) => ({
  active: kept?.active?.state === 'activated', waiting: Boolean(kept?.waiting)}))"""


@dataclass(frozen=True)
class Step:
    """What the screen says is to be done now."""

    kind: str
    id: str


class Bench:
    """One bench page; `url` is the server's address."""

    def __init__(self, page: Page, url: str) -> None:
        self.page = page
        self.url = url
        self.enrolled = False

    # where it stands

    def open(self) -> None:
        """Open the bench; the first time as a tablet that a lead has just given a code."""
        if not self.enrolled:
            self.enrol()
        else:
            self.page.goto(f"{self.url}/bench")
            self.ready()

    def enrol(self) -> None:
        """By the link that the office shows, and one touch."""
        self.offer_code()
        self.main()
        expect(self.page.locator('main[data-screen="plates"]')).to_be_visible()
        self.enrolled = True

    def offer_code(self) -> None:
        """Open the link that the office shows beside a new code."""
        self.page.goto(f"{self.url}/bench#enrol={code_for(self.url)}")
        expect(self.page.locator('main[data-screen="enrol"]')).to_be_visible()

    def ready(self) -> None:
        """Wait until the screen takes touches."""
        wait_until_open(self.page)

    def step(self) -> Step:
        self.ready()
        return Step(*self.page.locator("[data-step]").first.evaluate(STEP))

    def at(self, step_id: str) -> None:
        expect(self.page.locator("[data-step]").first).to_have_attribute("data-step-id", step_id)

    def says(self, text: str | re.Pattern[str]) -> None:
        expect(self.page.locator("#bench")).to_contain_text(text)

    def find(self, name: str, value: str | None = None) -> Locator:
        """The element of the testing contract: `find("plate", "SAD-20-001")`."""
        return self.page.locator(f"[data-{name}]" if value is None else f'[data-{name}="{value}"]')

    @property
    def main_action(self) -> Locator:
        return self.find("main")

    def records(self) -> str:
        return self.find("records").inner_text()

    def all_on_server(self) -> None:
        expect(self.find("records")).to_have_text("all on server", timeout=PATIENCE_MS)

    def kept(self) -> int:
        """How many records this tablet has that the server has not confirmed."""
        return int(self.find("records").get_attribute("data-kept") or 0)

    def shell_is_kept(self) -> None:
        """Wait until the worker can serve the bench without the server."""
        self._worker("active")

    def new_shell_waits(self) -> None:
        """Wait until another build's worker stands ready beside the one in use."""
        self._worker("waiting")

    def _worker(self, which: str) -> None:
        wait_until(lambda: self.page.evaluate(WORKERS)[which], what=f"a worker {which}")

    def draft_is_kept(self, digits: str) -> None:
        """Wait until what was typed so far is on the tablet's disk."""
        wait_until(
            lambda: digits in [pad["entry"]["digits"] for pad in self.rows("drafts")],
            what=f"draft of {digits}",
        )

    def caught_up(self) -> None:
        """Wait until all that the server has for this tablet has arrived, however many pages it fills."""

        def nothing_left() -> bool:
            after = max((row["after"] for row in self.rows("server")), default=0)
            asked = self.page.request.get(f"{self.url}/api/sync/pull?after={after}&limit=1")
            return asked.ok and bool(asked.json()["head"] == after)

        self.ready()
        wait_until(nothing_left, what="the records of other tablets")

    def rows(self, store: str) -> list[dict[str, Any]]:
        rows: list[dict[str, Any]] = self.page.evaluate(ROWS, store)
        return rows

    # touching

    def tap(self, target: Locator) -> None:
        """Touch once the guard after the last screen change is over, again if a new one stopped it."""
        for _ in range(TRIES):
            watch(self.page)
            target.click()
            if was_taken(self.page):
                return
        raise AssertionError(f"The screen kept changing under {target}.")

    def go(self, target: Locator) -> None:
        """Touch, and wait for the screen to change."""
        self.tap(target)
        until_moved(self.page)

    def main(self) -> None:
        self.go(self.main_action)

    def leave(self, target: Locator) -> None:
        """Touch what loads the page anew."""
        self.ready()
        with self.page.expect_navigation():
            target.click()
        self.ready()

    # the way in

    def choose_plate(self, serial: str) -> None:
        self.go(self.find("plate", serial))

    def choose_badge(self, badge: str) -> None:
        self.go(self.find("badge", badge))

    def choose_tools(self, tool: str, indicator: str) -> None:
        self.tap(self.find("tool", tool))
        self.tap(self.find("indicator", indicator))

    def start_setup(
        self,
        plate: str = "SAD-20-001",
        badge: str = "B-01",
        tool: str = "T-03",
        indicator: str = "I-01",
    ) -> None:
        self.choose_plate(plate)
        self.choose_badge(badge)
        self.main()
        self.choose_tools(tool, indicator)
        self.main()

    def take_over(self, plate: str = "SAD-20-001", badge: str = "B-01") -> None:
        """Go on with a half-done setup of another tablet, once all of it is here."""
        self.caught_up()
        self.take_over_as_it_is(plate, badge)

    def take_over_as_it_is(self, plate: str = "SAD-20-001", badge: str = "B-01") -> None:
        """Go on with what is on this tablet, without asking the server."""
        self.choose_plate(plate)
        self.choose_badge(badge)
        self.go(self.find("takeover"))

    def go_on(self) -> None:
        """Take up one's own setup again on the same tablet, after a pause or a restart."""
        expect(self.page.locator('main[data-screen="resume"]')).to_be_visible()
        self.main()

    # numbers

    def keys(self, digits: str) -> None:
        for key in digits:
            self.tap(self.find("key", key))

    def type_number(self, value: str) -> None:
        """Type a reading; the decimals stand fixed, so only digits and the sign have keys."""
        if value.startswith("-"):
            self.tap(self.find("key", "sign"))
        self.keys(re.sub(r"\D", "", value).lstrip("0") or "0")

    def enter(self) -> None:
        self.go(self.find("key", "enter"))

    def type_reading(self, value: str) -> None:
        """Type, read back, save."""
        self.type_number(value)
        self.enter()
        self.main()

    def pin(self, digits: str) -> None:
        """Type the PIN and sign."""
        self.keys(digits)
        self.hold_main()

    def hold_main(self) -> None:
        """Hold the main action until the screen answers, which takes 0.8 s at least."""
        expect(self.main_action).to_be_enabled()
        watch(self.page, "pointerdown")
        self.main_action.hover()
        self.page.mouse.down()
        lasted_ms = until_moved(self.page)
        self.page.mouse.up()
        assert lasted_ms >= HOLD_MS

    def give_reason(self) -> None:
        """Touch the first of the ready-made reasons."""
        self.tap(self.find("ready-reason").first)
        expect(self.find("reason")).not_to_have_value("")

    def burst(self, text: str) -> list[str]:
        """Keys as a keyboard wedge sends them, faster than hands; answers with those swallowed."""
        swallowed: list[str] = self.page.evaluate(BURST, [*text, "Enter"])
        return swallowed

    # whole stretches of work

    def do_step(self, reading: str = READING_MM) -> None:
        """The ordinary answer to the step on the screen."""
        if self.step().kind == "read":
            self.type_reading(reading)
        else:
            self.main()

    def work_until(self, step_id: str, reading: str = READING_MM) -> list[Step]:
        """Do every step up to, and without, `step_id`."""
        done = []
        while (step := self.step()).id != step_id:
            assert step not in done, f"{step.id} came twice"
            self.do_step(reading)
            done.append(step)
        return done
