from __future__ import annotations

import re

import httpx
import pytest

from tests.routes.office.visitor import Site, Visitor, count_rows

CAUTION = "Clamps, tools and parts can be thrown"


def test_a_lead_holds_a_plate_with_a_reason_and_frees_it_again(each_site: Site) -> None:
    with each_site.visitor("B-03") as lead:
        lead.send("/plates/SAD-20-001/hold", reason="receiver 2 is worn")
        page = lead.read("/plates/SAD-20-001")
        assert "Held: receiver 2 is worn" in page.text
        assert "held" in next(row for row in lead.read("/plates").rows if row[0] == "SAD-20-001")[1]
        lead.send("/plates/SAD-20-001/free")
        page = lead.read("/plates/SAD-20-001")
        assert "Held:" not in page.text
        assert any("receiver 2 is worn" in cell for row in page.rows for cell in row)


@pytest.mark.parametrize("reason", ["", "  ", "no", "x" * 501])
def test_a_hold_without_a_proper_reason_is_refused_at_its_field(
    site: Site, lead: Visitor, reason: str
) -> None:
    answer = lead.send("/plates/SAD-20-001/hold", reason=reason)
    assert answer.status_code == httpx.codes.UNPROCESSABLE_ENTITY
    assert 'href="#f-reason"' in answer.text
    assert 'aria-invalid="true"' in answer.text
    assert count_rows(site, "plate_hold") == 0


def test_a_plate_that_is_not_held_cannot_be_freed(lead: Visitor) -> None:
    assert lead.send("/plates/SAD-20-001/free").status_code == httpx.codes.CONFLICT


@pytest.mark.parametrize("badge", ["B-01", "B-04"])
def test_only_a_lead_or_owner_holds_a_plate(site: Site, badge: str) -> None:
    with site.visitor(badge) as visitor:
        answer = visitor.send("/plates/SAD-20-001/hold", reason="receiver 2 is worn")
        assert answer.status_code == httpx.codes.FORBIDDEN
        assert "Hold this plate" not in visitor.get("/plates/SAD-20-001").text
    assert count_rows(site, "plate_hold") == 0


def test_a_plate_is_added_and_a_second_of_the_same_serial_refused(
    site: Site, engineer: Visitor
) -> None:
    answer = engineer.send("/add-plate", serial="SAD-20-009", design="SAD-20", note="spare")
    assert answer.headers["location"] == "/plates/SAD-20-009"
    assert "free" in engineer.read("/plates/SAD-20-009").text
    before = count_rows(site, "plate")
    for serial in ("SAD-20-009", "", "a b", "../x", "x" * 33):
        again = engineer.send("/add-plate", serial=serial, design="SAD-20")
        assert again.status_code == httpx.codes.UNPROCESSABLE_ENTITY
        assert 'href="#f-serial"' in again.text
    unknown = engineer.send("/add-plate", serial="NEW-1", design="NONE")
    assert 'href="#f-design"' in unknown.text
    assert count_rows(site, "plate") == before


def test_an_operator_adds_no_plate(operator: Visitor) -> None:
    answer = operator.send("/add-plate", serial="SAD-20-009", design="SAD-20")
    assert answer.status_code == httpx.codes.FORBIDDEN
    assert operator.get("/plates/SAD-20-009").status_code == httpx.codes.NOT_FOUND


def test_the_paper_sheet_has_the_numbers_and_ids_of_the_plan_in_the_unit_of_the_tool(
    operator: Visitor,
) -> None:
    plan = {row[1]: row[0] for row in operator.read("/designs/SAD-20/B").rows if len(row) == 5}
    page = operator.read("/plates/SAD-20-001/sheet?tool=T-05")
    steps = [row for row in page.rows if len(row) == 6 and row[0].isdigit()]
    assert steps
    assert all(plan[row[1]] == row[0] for row in steps)
    torque = [row for row in steps if row[1].startswith("torque/3/")]
    assert [row[3] for row in torque] == ["106 lbf·in"] * len(torque)
    assert not [row for row in steps if row[1].startswith("grease/")]
    assert CAUTION in page.text


def test_the_paper_sheet_warns_of_a_tool_that_the_bench_would_refuse(operator: Visitor) -> None:
    assert "was due for calibration on" in operator.read("/plates/SAD-20-001/sheet?tool=T-09").text


def test_the_label_carries_the_serial_as_text_and_as_a_code(operator: Visitor) -> None:
    page = operator.read("/plates/CLR-08-001/label")
    assert 'aria-label="QR code of plate CLR-08-001"' in page.html
    assert re.search(r'class="serial">CLR-08-001<', page.html)
