"""The report in a real browser that has no network, on a screen, on a telephone and on paper."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

from api.cli.report import write_report
from api.domain.stores import Stores
from tests.browser.chromium import Complaints, launch
from tests.support.analyses import sad_20


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> Path:
    design, analysis = sad_20()
    place = tmp_path_factory.mktemp("report") / "report.html"
    write_report(place, Path("SAD-20-B.toml"), design, analysis.result, analysis.method, Stores())
    return place


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        started = launch(playwright)
        yield started
        started.close()


@pytest.mark.parametrize("width", [1280, 1024, 390])
def test_the_report_fits_the_screen_and_asks_for_nothing(
    browser: Browser, report: Path, width: int
) -> None:
    context = browser.new_context(
        offline=True, java_script_enabled=False, viewport={"width": width, "height": 800}
    )
    complaints, asked = Complaints(), list[str]()
    complaints.listen(context)
    context.on("request", lambda request: asked.append(request.url.partition(":")[0]))
    page = context.new_page()
    page.goto(report.as_uri())
    assert page.locator("figure.picture svg").count() == 10
    widths = [
        box["width"] for svg in page.locator(".maps svg").all() if (box := svg.bounding_box())
    ]
    assert len(widths) == 5
    assert min(widths) > 270
    assert page.locator("main").evaluate("it => it.scrollWidth") <= width
    assert not complaints.found
    assert set(asked) <= {"file", "data"}
    context.close()


def test_the_report_prints_on_a4_with_the_design_at_the_foot_of_each_sheet(
    browser: Browser, report: Path
) -> None:
    context = browser.new_context(offline=True)
    page = context.new_page()
    page.goto(report.as_uri())
    printed = page.pdf(prefer_css_page_size=True, print_background=True)
    sheets = re.findall(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]", printed)
    assert len(sheets) >= 4
    assert {(round(float(w)), round(float(h))) for w, h in sheets} == {(595, 842)}
    context.close()
