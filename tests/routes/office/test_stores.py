from __future__ import annotations

import csv
import io

import httpx
import pytest

from tests.routes.office.visitor import Page, Site, Visitor, count_rows

KINDS = ["tool", "indicator", "grease", "spec", "material"]
TOOL = {
    "serial": "T-11",
    "title": "Click wrench 4 to 20 N·m",
    "kind": "click",
    "unit": "N*m",
    "low": "4",
    "high": "20",
    "graduation": "0.2",
    "calibrated": "2026-11-01",
    "due": "2027-11-01",
    "pulls_limit": "5000",
    "pulls_before": "0",
}
SPEC = {
    "id": "m6-taper",
    "title": "M6 taper clamp",
    "source": "shop's own drawing",
    "document.kind": "cone",
    "document.thread": "M6",
    "document.strength": "12.9",
    "document.half_angle": "10 deg",
    "document.contact_radius": "4.5 mm",
    "document.engagement": "10 mm",
    "document.lubricant": "ep-grease",
    "document.rated.torque": "7 N*m",
}


@pytest.mark.parametrize("kind", KINDS)
def test_everybody_signed_in_reads_every_shelf_and_item(operator: Visitor, kind: str) -> None:
    shelf = operator.read(f"/stores/{kind}")
    items = [link for link in shelf.links if link.startswith(f"/stores/{kind}/")]
    assert items
    assert "/stores/add/" not in shelf.html
    for link in items:
        assert "Version 1" in operator.read(link).text


@pytest.mark.parametrize("badge", ["B-01", "B-04"])
def test_only_a_lead_or_owner_changes_the_stores(site: Site, badge: str) -> None:
    before = count_rows(site, "store_item")
    with site.visitor(badge) as visitor:
        for path in ("/stores/add/tool", "/stores/tool/T-03/change", "/stores/tool/T-03/withdraw"):
            assert visitor.send(path, **TOOL).status_code == httpx.codes.FORBIDDEN
        assert visitor.get("/stores/add/tool").status_code == httpx.codes.FORBIDDEN
    assert count_rows(site, "store_item") == before


def test_a_tool_is_added_changed_and_withdrawn_with_every_version_kept(each_site: Site) -> None:
    with each_site.visitor("B-03") as lead:
        assert lead.send("/stores/add/tool", **TOOL).headers["location"] == "/stores/tool/T-11"
        lead.send(
            "/stores/tool/T-11/change", **{**TOOL, "due": "2027-05-01", "note": "stiff ratchet"}
        )
        lead.send("/stores/tool/T-11/withdraw")
        page = lead.read("/stores/tool/T-11")
    assert "Version 3" in page.text
    assert "due: 2027-11-01 became 2027-05-01" in page.text
    assert "note: nothing became stiff ratchet" in page.text
    assert "state: in use became withdrawn" in page.text


def test_a_change_that_changes_nothing_makes_no_version(site: Site, lead: Visitor) -> None:
    lead.send("/stores/add/tool", **TOOL)
    before = count_rows(site, "store_item")
    lead.send("/stores/tool/T-11/change", **TOOL)
    assert "no new version" in lead.get("/stores/tool/T-11").text
    assert count_rows(site, "store_item") == before


@pytest.mark.parametrize(
    ("field", "value", "message"),
    [
        ("serial", "", "This is needed"),
        ("serial", "T 11", "Use letters, digits"),
        ("low", "three", "Enter a number, with a point for decimals"),
        ("low", "4,5", "Enter a number, with a point for decimals"),
        ("low", "-1", "Enter a number above 0"),
        ("high", "nan", "Enter a number"),
        ("unit", "kg", "Choose 'N*m', 'lbf*in' or 'lbf*ft'"),
        ("due", "soon", "Enter a date as year-month-day"),
        ("pulls_limit", "1.5", "Enter a whole number"),
        ("adapter.length_mm", "50", "This is needed"),
    ],
)
def test_a_wrong_field_is_named_beside_itself_and_nothing_is_kept(
    site: Site, lead: Visitor, field: str, value: str, message: str
) -> None:
    before = count_rows(site, "store_item")
    answer = lead.send("/stores/add/tool", **{**TOOL, field: value})
    assert answer.status_code == httpx.codes.UNPROCESSABLE_ENTITY
    assert message in Page(answer.text).text
    assert 'aria-invalid="true"' in answer.text
    assert count_rows(site, "store_item") == before


@pytest.mark.parametrize(
    ("field", "value", "message"),
    [
        ("high", "3", "the low end of the range must be below the high end"),
        ("due", "2026-10-01", "the due date lies before the calibration date"),
    ],
)
def test_fields_that_contradict_each_other_are_refused(
    lead: Visitor, field: str, value: str, message: str
) -> None:
    answer = lead.send("/stores/add/tool", **{**TOOL, field: value})
    assert answer.status_code == httpx.codes.UNPROCESSABLE_ENTITY
    assert message in Page(answer.text).text.lower()


def test_a_serial_that_is_taken_is_refused(lead: Visitor) -> None:
    answer = lead.send("/stores/add/tool", **{**TOOL, "serial": "T-03"})
    assert "There is one with this serial already" in answer.text
    assert "Version 1" in lead.read("/stores/tool/T-03").text


def test_a_clamp_spec_is_read_with_the_rules_of_the_design_file(lead: Visitor) -> None:
    assert lead.send("/stores/add/spec", **SPEC).headers["location"] == "/stores/spec/m6-taper"
    assert "7 N·m" in lead.read("/stores/spec/m6-taper").text
    for field, value in (("document.rated.torque", "7 kN"), ("document.half_angle", "10")):
        answer = lead.send("/stores/add/spec", **{**SPEC, "id": "other", field: value})
        assert answer.status_code == httpx.codes.UNPROCESSABLE_ENTITY
        assert f'id="b-{field}"' in answer.text


def test_an_overdue_tool_says_so_in_a_word(operator: Visitor) -> None:
    row = next(row for row in operator.read("/stores/tool").rows if row[0] == "T-09")
    assert "overdue since" in row[-1]


def rows_of(visitor: Visitor, path: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(visitor.get(path).text)))


def test_the_page_of_a_tool_lists_every_setup_it_touched(operator: Visitor) -> None:
    table = rows_of(operator, "/logbook.csv")
    touched = {
        row["setup"]: {
            line["details"].partition(",")[0]
            for line in rows_of(operator, f"/setups/{row['setup']}.csv")
            if line["kind"] == "clamp tightened"
        }
        for row in table
    }
    for serial in ("T-03", "T-05", "T-07", "T-09"):
        wanted = [setup for setup, tools in touched.items() if f"torque tool {serial}" in tools]
        page = operator.read(f"/stores/tool/{serial}")
        shown = [link.removeprefix("/setups/") for link in page.links if "/setups/" in link]
        assert shown == wanted
        plates = sorted({row["plate"] for row in table if row["setup"] in wanted})
        assert ", ".join(plates) in page.text
