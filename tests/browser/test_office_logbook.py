"""The logbook: filters, files of what is shown, one setup as a record."""

from __future__ import annotations

import csv
import io
import json
import re

from playwright.sync_api import expect

from tests.browser.conftest import MakeOffice
from tests.browser.office import Office
from tests.support.server import Server


def shown(desk: Office) -> list[str]:
    """The setups of the page, by the ids in their links."""
    links = desk.page.locator("tbody th a").all()
    return [str(link.get_attribute("href")).rpartition("/")[2] for link in links]


def test_filters_narrow_the_logbook_and_the_files_hold_just_what_is_shown(
    office_shop: Server, office: MakeOffice
) -> None:
    desk = office(office_shop.url, "B-03")
    desk.open("/logbook")
    everything = len(shown(desk))
    desk.choose("Plate", "SAD-20-003")
    desk.choose("Torque tool", "T-05")
    desk.press("Show")
    ids = shown(desk)
    assert 0 < len(ids) < everything
    assert all("SAD-20-003" in row and "T-05" in row for row in desk.rows("Setups"))
    rows = list(csv.DictReader(io.StringIO(desk.download("CSV of this page"))))
    assert [row["setup"] for row in rows] == ids
    assert {(row["plate"], row["torque_tool"]) for row in rows} == {("SAD-20-003", "T-05")}
    document = json.loads(desk.download("JSON of this page"))
    assert [one["setup"] for one in document["setups"]] == ids
    assert document["asked"] == {"plate": "SAD-20-003", "tool": "T-05"}


def test_the_second_page_of_the_logbook_goes_on_where_the_first_ended(
    office_shop: Server, office: MakeOffice
) -> None:
    desk = office(office_shop.url, "B-03")
    desk.open("/logbook")
    first = shown(desk)
    desk.follow("Older")
    expect(desk.page).to_have_url(re.compile("page=2"))
    second = shown(desk)
    assert second and not set(first) & set(second)
    rows = list(csv.DictReader(io.StringIO(desk.download("CSV of this page"))))
    assert [row["setup"] for row in rows] == second


def test_a_question_that_fits_nothing_says_so(office_shop: Server, office: MakeOffice) -> None:
    desk = office(office_shop.url, "B-03")
    desk.open("/logbook")
    desk.fill("From", "2001-01-01")
    desk.fill("To", "2001-01-02")
    desk.press("Show")
    desk.says("No setup fits all of this.")


def test_readings_of_a_point_are_a_chart_and_the_same_rows_as_their_file(
    office_shop: Server, office: MakeOffice
) -> None:
    desk = office(office_shop.url, "B-03")
    desk.open("/readings?plate=SAD-20-003&point=A&state=torqued+locked")
    expect(desk.page.locator("[data-chart] svg")).to_be_visible()
    table = desk.rows("Readings")
    rows = list(csv.DictReader(io.StringIO(desk.download("CSV of these"))))
    assert len(table) == len(rows) > 5


def test_a_change_in_the_stores_becomes_a_new_version_and_the_old_one_stays(
    shop: Server, office: MakeOffice
) -> None:
    desk = office(shop.url, "B-03")
    desk.open("/stores/tool/T-03/change")
    desk.fill("Title", "Click wrench of the second bench")
    desk.page.locator("main form button.main").click()
    expect(desk.page).to_have_url(re.compile("/stores/tool/T-03$"))
    desk.says("Click wrench of the second bench")
    versions = desk.page.locator(".versions li").all_inner_texts()
    assert len(versions) == 2
    assert "B-03" in "".join(versions)
