"""The way in: cookies, sessions over the wire, and locks that cannot be walked round."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from http.cookies import SimpleCookie
from pathlib import Path

import httpx
import pytest

from api.app import create_app
from api.domain.errors import Unavailable
from api.settings import Settings
from api.use_cases import sessions
from tests.routes.office.conftest import opened
from tests.routes.office.visitor import Site, Visitor
from tests.security_rules.inside import Inside, token_on


@pytest.fixture
def browser(filled_data: Path, tmp_path: Path) -> Inside:
    shutil.copytree(filled_data, tmp_path / "https")
    return Inside(create_app(Settings(data=tmp_path / "https", database_url="")))


@pytest.fixture
def patient(filled_data: Path, tmp_path: Path) -> Iterator[Site]:
    """A shop where one address may sign in as often as it likes."""
    shutil.copytree(filled_data, tmp_path / "patient")
    settings = Settings(data=tmp_path / "patient", database_url="", sign_ins_per_min=1000)
    with opened(settings) as made:
        yield made


def cookies_of(answer: httpx.Response) -> SimpleCookie:
    jar: SimpleCookie = SimpleCookie()
    for line in answer.headers.get_list("set-cookie"):
        jar.load(line)
    return jar


def test_over_https_every_cookie_is_bound_to_this_host_and_hidden_from_scripts(
    browser: Inside,
) -> None:
    page = browser.get("/sign-in")
    entered = browser.post(
        "/sign-in", csrf=token_on(page), badge="B-03", password="bench-b03", next="/plates"
    )
    assert entered.status_code == httpx.codes.SEE_OTHER
    changed = browser.post(
        "/plates/SAD-20-001/hold", csrf=token_on(browser.get("/plates")), reason="pad is worn"
    )
    left = browser.post("/sign-out", csrf=token_on(browser.get("/plates")))
    jars = [cookies_of(one) for one in (page, entered, changed, left)]
    seen = {name for jar in jars for name in jar}
    assert seen == {
        "__Host-clampbook_visit",
        "__Host-clampbook_session",
        "__Host-clampbook_said",
    }
    for jar in jars:
        for name, cookie in jar.items():
            assert cookie["secure"], name
            assert cookie["httponly"], name
            assert cookie["path"] == "/", name
            assert cookie["samesite"].lower() == "lax", name
            assert not cookie["domain"], name
            assert len(name) + len(cookie.value) < 4096, name
    assert browser.get("/plates").headers["location"].startswith("/sign-in")


def test_a_cookie_set_without_https_is_not_believed_over_it(browser: Inside) -> None:
    page = browser.get("/sign-in")
    browser.post("/sign-in", csrf=token_on(page), badge="B-03", password="bench-b03")
    assert browser.get("/plates").status_code == httpx.codes.OK
    token = browser.cookies["__Host-clampbook_session"]
    browser.cookies = httpx.Cookies({"clampbook_session": token})
    assert browser.get("/plates").status_code == httpx.codes.SEE_OTHER


def test_signing_in_again_makes_a_new_token_and_ends_the_old_one(site: Site) -> None:
    with site.visitor("B-03") as visitor:
        first = visitor.client.cookies["clampbook_session"]
        visitor.sign_in("B-03")
        second = visitor.client.cookies["clampbook_session"]
        assert first != second
        assert visitor.get("/plates").status_code == httpx.codes.OK
    with site.visitor() as thief:
        thief.client.cookies.set("clampbook_session", first)
        assert thief.get("/plates").status_code == httpx.codes.SEE_OTHER


def test_a_page_is_shown_although_its_use_cannot_be_written_down(
    site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise Unavailable("The disk is full.")

    with site.visitor("B-03") as visitor:
        monkeypatch.setattr(sessions, "is_to_note", lambda *_: True)
        monkeypatch.setattr(sessions, "note", full)
        assert visitor.get("/plates").status_code == httpx.codes.OK


def test_a_person_sees_the_open_sessions_and_ends_the_others(site: Site) -> None:
    with site.visitor("B-03") as here, site.visitor("B-03") as there:
        assert "B-03 is signed in in 2 browsers." in here.read("/crew/B-03").text
        refused = here.send("/crew/B-03/end-sessions", sessions_yours="not this one")
        assert refused.status_code == httpx.codes.UNPROCESSABLE_ENTITY
        assert there.get("/plates").status_code == httpx.codes.OK
        here.send("/crew/B-03/end-sessions", sessions_yours="bench-b03")
        assert "B-03 is signed in in one browser." in here.read("/crew/B-03").text
        assert there.get("/plates").status_code == httpx.codes.SEE_OTHER


def test_a_lead_ends_all_sessions_of_another(site: Site, lead: Visitor) -> None:
    with site.visitor("B-01") as operator:
        lead.send("/crew/B-01/end-sessions", sessions_yours="bench-b03")
        assert operator.get("/plates").status_code == httpx.codes.SEE_OTHER


def test_a_change_of_role_asks_to_sign_in_again(site: Site, lead: Visitor) -> None:
    with site.visitor("B-01") as operator:
        lead.send("/crew/B-01/role", role="auditor")
        assert operator.get("/plates").status_code == httpx.codes.SEE_OTHER


def test_every_page_behind_the_door_shows_the_way_out(lead: Visitor) -> None:
    for path in ("/plates", "/logbook", "/stores/tool", "/crew", "/system", "/plates/NONE"):
        assert 'action="/sign-out"' in lead.get(path).text, path


def guess(site: Site, badge: str, password: str) -> int:
    with site.visitor() as visitor:
        return visitor.sign_in(badge, password).status_code


def test_many_tries_at_once_do_not_outrun_the_lock(patient: Site) -> None:
    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(lambda n: guess(patient, "B-03", f"guess number {n}"), range(16)))
    assert answers.count(httpx.codes.UNAUTHORIZED) == 5
    assert answers.count(httpx.codes.TOO_MANY_REQUESTS) == 11
    assert guess(patient, "B-03", "bench-b03") == httpx.codes.TOO_MANY_REQUESTS


def test_another_spelling_of_the_badge_does_not_dodge_the_lock(patient: Site) -> None:
    spellings = [" B-03", "B-03 ", "\tB-03", "\u2003B-03", "B-03\u00a0"]
    for spelling in spellings:
        assert guess(patient, spelling, "not this one") == httpx.codes.UNAUTHORIZED
    for spelling in ["B-03", *spellings]:
        assert guess(patient, spelling, "bench-b03") == httpx.codes.TOO_MANY_REQUESTS
    others = ["b-03", "B-03\u200b", "Ｂ-03", "B-0３", "B\u201003", "B-03%", "B-03'--", "B-03\0"]
    for spelling in others:
        status = guess(patient, spelling, "bench-b03")
        assert status in (401, 422), spelling


def test_a_right_try_before_the_lock_begins_the_count_anew(patient: Site) -> None:
    for _ in range(3):
        for _ in range(4):
            assert guess(patient, "B-03", "not this one") == httpx.codes.UNAUTHORIZED
        assert guess(patient, "B-03", "bench-b03") == httpx.codes.SEE_OTHER


def test_a_lock_on_one_badge_leaves_the_others_alone(patient: Site) -> None:
    for _ in range(6):
        guess(patient, "B-03", "not this one")
    assert guess(patient, "B-04", "bench-b04") == httpx.codes.SEE_OTHER
