"""Plates and designs in the office."""

from __future__ import annotations

import re

from playwright.sync_api import expect

from api.paths import share
from tests.browser.conftest import MakeOffice
from tests.support.server import Server

SADDLE = share("seed_data") / "designs/SAD-20-B.toml"


def broken_text() -> str:
    """The saddle with one clamp asked for more than its spec is rated for."""
    text = SADDLE.read_text("utf-8").replace('revision = "B"', 'revision = "C"')
    return text.replace('torque = "12 N*m"', 'torque = "12 furlong"', 1)


def test_a_broken_design_is_shown_with_line_and_fix_and_is_not_kept(
    shop: Server, office: MakeOffice
) -> None:
    desk = office(shop.url, "B-04")
    desk.expect_refusals()
    desk.open("/load-design")
    text = broken_text()
    desk.upload("SAD-20-C.toml", text)
    line = text[: text.index("furlong")].count("\n") + 1
    desk.says("must change before this can be loaded")
    finding = desk.page.locator(".findings li").filter(has_text="furlong")
    expect(finding).to_contain_text(f"line {line}")
    expect(finding).to_contain_text("Stop")
    expect(desk.page.get_by_role("button", name="Load as a draft")).to_have_count(0)
    assert desk.open("/designs/SAD-20/C").status == 404


def test_a_corrected_text_is_loaded_as_a_draft_and_released_for_the_bench(
    shop: Server, office: MakeOffice
) -> None:
    desk = office(shop.url, "B-04")
    desk.expect_refusals()
    desk.open("/load-design")
    desk.upload("SAD-20-C.toml", broken_text())
    desk.fill("Text of the design file", broken_text().replace("furlong", "N*m"))
    desk.press("Check it again")
    desk.says("This can be loaded")
    desk.press("Load as a draft")
    desk.says("SAD-20 revision C is loaded as a draft.")
    desk.follow("Release")
    desk.page.locator("form.deeds-form button").click()
    expect(desk.page).to_have_url(re.compile("/designs/SAD-20/C$"))
    expect(desk.page.get_by_role("link", name="Withdraw", exact=True)).to_be_visible()
    desk.open("/plates/SAD-20-001")
    desk.says("revision C")


def test_a_held_plate_shows_its_reason_until_it_is_freed(shop: Server, office: MakeOffice) -> None:
    desk = office(shop.url, "B-03")
    desk.open("/plates/SAD-20-001")
    desk.fill("Reason", "stud 3 is loose")
    desk.press("Hold this plate")
    desk.says("Plate SAD-20-001 is held.")
    desk.open("/plates")
    row = desk.page.locator("tr").filter(has_text="SAD-20-001")
    expect(row).to_contain_text("held")
    expect(row).to_contain_text("stud 3 is loose")
    desk.open("/plates/SAD-20-001")
    desk.press("Free this plate")
    desk.says("Plate SAD-20-001 is free.")
    holds = desk.rows("Holds")
    assert "stud 3 is loose" in holds[0] and holds[0].count("B-03") == 2


def test_an_operator_is_offered_no_changes_and_is_refused_them(
    office_shop: Server, office: MakeOffice
) -> None:
    desk = office(office_shop.url, "B-01")
    desk.open("/plates")
    expect(desk.page.get_by_role("link", name="Load a design file")).to_have_count(0)
    desk.open("/plates/SAD-20-001")
    expect(desk.page.get_by_role("button", name="Hold this plate")).to_have_count(0)
    desk.expect_refusals()
    for path in ("/load-design", "/add-plate", "/stores/add/tool", "/add-person"):
        assert desk.open(path).status == 403, path
    expect(desk.main).to_contain_text("Nothing was changed")


def test_a_lead_may_not_release_a_design(office_shop: Server, office: MakeOffice) -> None:
    desk = office(office_shop.url, "B-03")
    desk.expect_refusals()
    assert desk.open("/designs/SAD-20/B/withdraw").status == 403
