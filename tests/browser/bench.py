"""The bench as an operator uses it: taps in the page, and waits for what follows on the screen."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from playwright.sync_api import Locator, Page, expect

from tests.browser.chromium import PATIENCE_MS
from tests.support.net import wait_until

READING_MM = "0.01"
# Calls back as soon as `test(before)` is true, looking after every change of the document.
UNTIL = """([source, given, patience]) => new Promise((found, failed) => {
  const test = TESTS[source];
  const watch = new MutationObserver(() => look());
  const timer = setTimeout(() => { watch.disconnect(); failed(new Error(`never: ${source}`)); }, patience);
  const look = () => {
    if (!test(given)) return false;
    watch.disconnect();
    clearTimeout(timer);
    found(true);
    return true;
  };
  const all = {subtree: true, childList: true, attributes: true, characterData: true};
  if (!look()) watch.observe(document, all);
})""".replace(
    "TESTS",
    """({
      open: () => document.querySelector('main[data-screen]') && !document.querySelector('.guarded'),
      moved: (before) => WHERE !== before,
    })""",
)
WHERE = """(() => {
  const page = document.querySelector('main[data-screen]');
  const {screen, stepId, aside} = page?.dataset ?? {};
  return [screen, stepId, aside, page?.querySelector('[data-heading]')?.textContent?.trim()].join('|');
})()"""


BURST = """(keys) => keys.filter((key) => !document.activeElement.dispatchEvent(
  new KeyboardEvent('keydown', {key, bubbles: true, cancelable: true})))"""
DRAFTS = """() => new Promise((found, failed) => {
  const opening = indexedDB.open('clampbook-bench');
  opening.onerror = () => failed(opening.error);
  opening.onsuccess = () => {
    const db = opening.result;
    const asked = db.transaction('drafts').objectStore('drafts').getAll();
    asked.onsuccess = () => { db.close(); found(asked.result.map((pad) => pad.entry.digits)); };
  };
})"""
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

    # where it stands

    def open(self) -> None:
        self.page.goto(f"{self.url}/bench")
        self.ready()

    def ready(self) -> None:
        """Wait until the screen takes touches."""
        self._until("open")

    def where(self) -> str:
        place: str = self.page.evaluate(WHERE)
        return place

    def step(self) -> Step:
        self.ready()
        root = self.page.locator("[data-step]").first
        kind, step_id = root.get_attribute("data-step"), root.get_attribute("data-step-id")
        assert kind is not None and step_id is not None
        return Step(kind, step_id)

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
        wait_until(
            lambda: self.page.evaluate(WORKERS)[which], within_s=20, what=f"a worker {which}"
        )

    def draft_is_kept(self, digits: str) -> None:
        """Wait until what was typed so far is on the tablet's disk."""
        wait_until(
            lambda: digits in self.page.evaluate(DRAFTS), within_s=10, what=f"draft of {digits}"
        )

    # touching

    def tap(self, target: Locator) -> None:
        """Touch once the guard after the last screen change is over."""
        self.ready()
        target.click()

    def go(self, target: Locator) -> None:
        """Touch, and wait for the screen to change."""
        self.ready()
        before = self.where()
        target.click()
        self._until("moved", before)

    def main(self) -> None:
        self.go(self.main_action)

    def _until(self, what: str, given: Any = None) -> None:
        self.page.evaluate(UNTIL.replace("WHERE", f"({WHERE})"), [what, given, PATIENCE_MS])

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
        """Go on with a half-done setup of another tablet."""
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
        """Type the PIN and hold the signature for its 0.8 s."""
        self.keys(digits)
        self.hold_main()

    def hold_main(self) -> None:
        self.ready()
        before = self.where()
        self.main_action.click(delay=900)
        self._until("moved", before)

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
