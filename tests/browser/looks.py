"""What can be measured on a page: overflow, sizes of touch targets, contrast and names (axe-core)."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import Page

from tests.support.checkout import ROOT

AXE = ROOT / "web/node_modules/axe-core/axe.min.js"
AXE_TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
OVERFLOW = """() => {
  const root = document.scrollingElement;
  const wide = [...document.body.querySelectorAll('*')].filter((one) => {
    const box = one.getBoundingClientRect();
    return box.width > 0 && box.right > innerWidth + 1 && !one.closest('.scroll');
  });
  const names = wide.slice(0, 3).map((one) => one.outerHTML.slice(0, 120));
  return root.scrollWidth > innerWidth + 1 ? [`${root.scrollWidth} px wide`, ...names] : [];
}"""
RUN_AXE = """async (tags) => {
  const found = await axe.run(document, {runOnly: {type: 'tag', values: tags}});
  return found.violations.map((one) => `${one.id}: ${one.help}: `
    + one.nodes.slice(0, 3).map((node) => node.html.slice(0, 160) + ' '
    + node.any.map((check) => check.message).join(' ')).join(' | '));
}"""


def overflow(page: Page) -> list[str]:
    """What makes the page wider than its window; tables scroll inside their own region."""
    found: list[str] = page.evaluate(OVERFLOW)
    return found


def axe_findings(page: Page) -> list[str]:
    """What axe-core objects to; it runs in the page's own world, past the page's policy."""
    page.evaluate(AXE.read_text("utf-8") + "; 0")
    found: list[str] = page.evaluate(RUN_AXE, AXE_TAGS)
    return found


def boxes(page: Page, selector: str) -> list[dict[str, Any]]:
    """Text, place and size in px of every visible element of a selector."""
    found: list[dict[str, Any]] = page.evaluate(
        """(selector) => [...document.querySelectorAll(selector)].flatMap((one) => {
          const box = one.getBoundingClientRect();
          if (!one.checkVisibility({visibilityProperty: true}) || box.width === 0) return [];
          const label = (one.getAttribute('aria-label') || one.textContent || '').trim();
          return [{text: label.slice(0, 40), left: box.left, top: box.top,
                   right: box.right, bottom: box.bottom, width: box.width, height: box.height}];
        })""",
        selector,
    )
    return found
