"""One touch of the bench, watched inside the page from before the finger comes down.

A screen may move and come back before a question from outside reaches the page: a signature is
taken, sent, refused and asked for again within a tenth of a second. So the page itself keeps what
the touch did, and the test asks afterwards.
"""

from __future__ import annotations

from typing import Literal

from playwright.sync_api import Page

from tests.browser.chromium import PATIENCE_MS

Began = Literal["click", "pointerdown"]

WHERE = """(() => {
  const page = document.querySelector('main[data-screen]');
  const {screen, stepId, aside} = page?.dataset ?? {};
  return [screen, stepId, aside, page?.querySelector('[data-heading]')?.textContent?.trim()].join('|');
})()"""
# Each comes true as soon as its condition holds, looking after every change of the document.
WHEN = """const when = (what, patience, test) => new Promise((found, failed) => {
  const watch = new MutationObserver(() => look());
  const timer = setTimeout(() => { watch.disconnect(); failed(new Error(`never: ${what}`)); }, patience);
  const look = () => {
    if (!test()) return false;
    watch.disconnect();
    clearTimeout(timer);
    found();
    return true;
  };
  const all = {subtree: true, childList: true, attributes: true, characterData: true};
  if (!look()) watch.observe(document, all);
});
const where = () => WHERE;
const guarded = () => document.querySelector('.guarded') !== null;
const open = () => document.querySelector('main[data-screen]:not([data-screen="starting"])') && !guarded();
""".replace("WHERE", WHERE)
OPEN = "async (patience) => {" + WHEN + "await when('open', patience, open); }"
# From the touch on: was it taken or stopped by the guard, and after how long did the screen move?
WATCH = (
    "async ([began, patience]) => {"
    + WHEN
    + """await when('open', patience, open);
  window.touched = new Promise((found, failed) => {
    const timer = setTimeout(() => failed(new Error('never: touched')), patience);
    addEventListener(began, (event) => {
      clearTimeout(timer);
      if (began === 'click' && guarded()) return found(null);
      const before = where();
      const moved = when('moved', patience, () => where() !== before)
        .then(() => performance.now() - event.timeStamp);
      moved.catch(() => undefined);
      found({moved});
    }, {capture: true, once: true});
  });
  window.touched.catch(() => undefined);
}"""
)
TAKEN = "async () => (await window.touched) !== null"
MOVED = "async () => (await window.touched).moved"


def wait_until_open(page: Page) -> None:
    """Wait until the screen takes touches."""
    page.evaluate(OPEN, PATIENCE_MS)


def watch(page: Page, began: Began = "click") -> None:
    """Once the screen takes touches, keep what the next one does."""
    page.evaluate(WATCH, [began, PATIENCE_MS])


def was_taken(page: Page) -> bool:
    """False when the screen had changed under the finger and its guard stopped the touch."""
    taken: bool = page.evaluate(TAKEN)
    return taken


def until_moved(page: Page) -> float:
    """Wait until the screen has moved since the touch; milliseconds from one to the other."""
    lasted_ms: float = page.evaluate(MOVED)
    return lasted_ms
