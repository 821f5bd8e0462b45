from __future__ import annotations

import httpx
import pytest

from tests.routes.office.visitor import Page, Site, Visitor, count_rows


def test_a_lead_adds_a_person_whose_pin_and_password_then_work(each_site: Site) -> None:
    with each_site.visitor("B-03") as lead:
        answer = lead.send("/add-person", badge="B-20", role="auditor")
        assert answer.headers["location"] == "/crew/B-20"
        lead.send("/crew/B-20/pin", pin="4120", pin_yours="bench-b03")
        lead.send("/crew/B-20/password", password="quiet corner", password_yours="bench-b03")
        row = next(row for row in lead.read("/crew").rows if row[0] == "B-20")
        assert row[3:5] == ["set", "set"]
    with each_site.visitor() as visitor:
        assert visitor.sign_in("B-20", "quiet corner").headers["location"] == "/plates"


def test_a_person_who_is_deactivated_is_out_at_once(site: Site, lead: Visitor) -> None:
    with site.visitor("B-01") as operator:
        lead.send("/crew/B-01/deactivate")
        assert operator.get("/plates").status_code == httpx.codes.SEE_OTHER
        assert operator.sign_in("B-01").status_code == httpx.codes.UNAUTHORIZED
        lead.send("/crew/B-01/activate")
        assert operator.sign_in("B-01").status_code == httpx.codes.SEE_OTHER


@pytest.mark.parametrize("badge", ["B-01", "B-04"])
def test_only_a_lead_or_owner_changes_the_crew(site: Site, badge: str) -> None:
    before = count_rows(site, "person")
    with site.visitor(badge) as visitor:
        for path in ("/add-person", "/crew/B-02/role", "/crew/B-02/deactivate", "/crew/B-02/pin"):
            answer = visitor.send(path, badge="B-20", role="owner", pin="4199")
            assert answer.status_code == httpx.codes.FORBIDDEN
        assert "operator" in next(row for row in visitor.read("/crew").rows if row[0] == "B-02")[1]
    assert count_rows(site, "person") == before


def test_a_lead_neither_opens_nor_makes_an_owner(site: Site, lead: Visitor) -> None:
    assert "/crew/B-05" not in lead.read("/crew").links
    for path in ("/crew/B-05", "/crew/B-05/password", "/crew/B-05/deactivate"):
        answer = (
            lead.get(path) if path == "/crew/B-05" else lead.send(path, password="quiet corner")
        )
        assert answer.status_code == httpx.codes.FORBIDDEN
    assert lead.send("/crew/B-01/role", role="owner").status_code == httpx.codes.FORBIDDEN
    with site.visitor("B-05") as owner:
        assert "operator" in next(row for row in owner.read("/crew").rows if row[0] == "B-01")[1]


def test_nobody_changes_the_own_role(lead: Visitor) -> None:
    assert lead.send("/crew/B-03/role", role="owner").status_code in (
        httpx.codes.CONFLICT,
        httpx.codes.FORBIDDEN,
    )
    assert "/crew/B-03/role" not in lead.get("/crew/B-03").text


def test_everybody_sets_the_own_pin_and_password(operator: Visitor) -> None:
    operator.send("/crew/B-01/pin", pin="9576", pin_yours="bench-b01")
    assert "The PIN of B-01 is set." in operator.get("/crew").text
    operator.send("/crew/B-01/password", password="quiet corner", password_yours="bench-b01")
    assert operator.sign_in("B-01", "quiet corner").status_code == httpx.codes.SEE_OTHER


@pytest.mark.parametrize(
    ("path", "fields", "message"),
    [
        ("/crew/B-02/pin", {"pin": "123", "pin_yours": "bench-b03"}, "A PIN has 4 to 8 digits"),
        ("/crew/B-02/pin", {"pin": "1111", "pin_yours": "bench-b03"}, "not all alike"),
        ("/crew/B-02/pin", {"pin": "12a4", "pin_yours": "bench-b03"}, "A PIN has 4 to 8 digits"),
        (
            "/crew/B-02/pin",
            {"pin": "4321", "pin_yours": "bench-b03"},
            "among the first that anybody tries",
        ),
        ("/crew/B-02/pin", {"pin": "4120", "pin_yours": "bench-b02"}, "This is not your password"),
        (
            "/crew/B-02/password",
            {"password": "short", "password_yours": "bench-b03"},
            "A password has 8 to 200 characters",
        ),
        (
            "/crew/B-02/password",
            {"password": "Password2026!", "password_yours": "bench-b03"},
            "among the first that anybody tries",
        ),
        ("/crew/B-02/password", {"password": "quiet corner"}, "This is not your password"),
        ("/add-person", {"badge": "", "role": "operator"}, "Use letters, digits"),
        ("/add-person", {"badge": "B 20", "role": "operator"}, "Use letters, digits"),
        ("/add-person", {"badge": "B-01", "role": "operator"}, "There is a badge B-01 already"),
        ("/add-person", {"badge": "B-20", "role": "boss"}, "Choose 'operator', 'lead'"),
    ],
)
def test_a_wrong_entry_is_named_and_nothing_is_kept(
    site: Site, lead: Visitor, path: str, fields: dict[str, str], message: str
) -> None:
    before = count_rows(site, "person"), count_rows(site, "credential")
    answer = lead.send(path, **fields)
    assert answer.status_code == httpx.codes.UNPROCESSABLE_ENTITY
    assert message in Page(answer.text).text
    assert (count_rows(site, "person"), count_rows(site, "credential")) == before


def test_no_page_shows_a_secret_again(lead: Visitor) -> None:
    answer = lead.send("/crew/B-02/password", password="seven7!", password_yours="bench-b03")
    assert answer.status_code == httpx.codes.UNPROCESSABLE_ENTITY
    assert "seven7!" not in answer.text
