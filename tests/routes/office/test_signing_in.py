from __future__ import annotations

import httpx
import pytest

from tests.routes.office.visitor import Site, Visitor

INSIDE = ["/plates", "/logbook", "/readings", "/stores/tool", "/crew", "/system", "/load-design"]


def test_the_door_leads_to_sign_in_and_then_to_the_plates(site: Site) -> None:
    with site.visitor() as visitor:
        assert visitor.get("/").headers["location"] == "/sign-in"
        assert visitor.sign_in("B-01").headers["location"] == "/plates"
        assert visitor.get("/").headers["location"] == "/plates"


@pytest.mark.parametrize("path", INSIDE)
def test_a_page_asks_for_sign_in_first_and_is_shown_after_it(site: Site, path: str) -> None:
    with site.visitor() as visitor:
        asked = visitor.get(path)
        assert asked.status_code == httpx.codes.SEE_OTHER
        fields = {"badge": "B-05", "password": "bench-b05", "next": path}
        answer = visitor.send("/sign-in", asked.headers["location"], **fields)
        assert answer.headers["location"] == path


@pytest.mark.parametrize(
    "target",
    ["//elsewhere.test/x", "https://elsewhere.test", "/\\elsewhere.test", "plates", "/sign-out"],
)
def test_after_sign_in_nobody_is_sent_to_another_server(site: Site, target: str) -> None:
    with site.visitor() as visitor:
        answer = visitor.send(
            "/sign-in", "/sign-in", badge="B-01", password="bench-b01", next=target
        )
        assert answer.headers["location"] == "/plates"


def test_the_session_cookie_is_out_of_reach_of_scripts_and_other_sites(site: Site) -> None:
    with site.visitor() as visitor:
        cookie = visitor.sign_in("B-01").headers["set-cookie"]
        assert "clampbook_session=" in cookie
        assert "HttpOnly" in cookie
        assert "SameSite=lax" in cookie


def test_a_wrong_password_and_an_unknown_badge_answer_alike(site: Site) -> None:
    with site.visitor() as visitor:
        wrong = visitor.sign_in("B-01", "not this one")
        unknown = visitor.sign_in("B-99", "not this one")
        assert wrong.status_code == unknown.status_code == httpx.codes.UNAUTHORIZED
        message = "Badge and password do not fit"
        assert message in wrong.text
        assert message in unknown.text
        assert visitor.get("/plates").status_code == httpx.codes.SEE_OTHER


def test_after_five_wrong_tries_the_page_says_how_long_to_wait(each_site: Site) -> None:
    with each_site.visitor() as visitor:
        for _ in range(5):
            visitor.sign_in("B-01", "not this one")
        answer = visitor.sign_in("B-01")
        assert answer.status_code == httpx.codes.TOO_MANY_REQUESTS
        assert "Too many wrong tries for this badge. Wait" in answer.text
        assert int(answer.headers["retry-after"]) > 0


def test_signing_out_ends_the_session_and_says_so(operator: Visitor) -> None:
    kept = operator.client.cookies["clampbook_session"]
    answer = operator.send("/sign-out")
    assert "You are signed out." in operator.get(answer.headers["location"]).text
    operator.client.cookies.set("clampbook_session", kept)
    assert operator.get("/plates").status_code == httpx.codes.SEE_OTHER


def test_a_form_from_another_session_or_without_its_token_changes_nothing(
    site: Site, lead: Visitor
) -> None:
    with site.visitor("B-05") as other:
        stolen = other.token()
    for token in (stolen, "", "0" * 64, "é"):
        answer = lead.client.post(
            "/plates/SAD-20-001/hold", data={"csrf": token, "reason": "pad is worn"}
        )
        assert answer.status_code == httpx.codes.FORBIDDEN
        assert "Nothing was changed" in answer.text
    assert "pad is worn" not in lead.get("/plates").text


@pytest.mark.parametrize(
    "headers",
    [
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Origin": "https://elsewhere.test"},
        {"Origin": "null"},
    ],
)
def test_a_form_sent_by_another_site_is_refused_even_with_its_token(
    lead: Visitor, headers: dict[str, str]
) -> None:
    data = {"csrf": lead.token(), "reason": "pad is worn"}
    answer = lead.client.post("/plates/SAD-20-001/hold", data=data, headers=headers)
    assert answer.status_code == httpx.codes.FORBIDDEN
    assert "pad is worn" not in lead.get("/plates").text


def test_a_forged_message_is_not_shown(operator: Visitor) -> None:
    operator.client.cookies.set("clampbook_said", "0" * 32 + ".IlNlbmQgeW91ciBQSU4i")
    assert "Send your PIN" not in operator.get("/plates").text


def test_a_message_is_shown_once(lead: Visitor) -> None:
    lead.send("/plates/SAD-20-001/hold", reason="pad is worn")
    assert "SAD-20-001 is held." in lead.get("/plates").text
    assert "SAD-20-001 is held." not in lead.get("/plates").text
