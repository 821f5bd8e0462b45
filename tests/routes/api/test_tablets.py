"""Enrolment and sessions over http, and who may read and send what."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

import httpx
import pytest

from api.app import create_app
from api.routes.api.sessions import TABLET_COOKIE
from api.routes.office.desk import SESSION_COOKIE
from api.settings import Settings
from api.use_cases import credentials, tablets
from tests.routes.api.test_reading import assert_problem
from tests.support.pusher import Pusher, new_code
from tests.support.script import Tablet, key_of
from tests.support.shop import LEAD, SETUP, Shop, session_cookie
from tests.support.site import client_of

READ = (
    "/api/designs",
    "/api/designs/SAD-20/revisions/B",
    "/api/plates",
    "/api/plates/SAD-20-001",
    "/api/plates/SAD-20-001/history",
)
EXCHANGE = ("/api/sync/pull", "/api/sync/shop", "/api/sync/hints")


@pytest.fixture
def code(shop: Shop, configured: Settings) -> str:
    return new_code(configured.data, "Bench 1", configured.database)


@pytest.fixture
def second(configured: Settings, stranger: httpx.Client) -> Iterator[httpx.Client]:
    """Another device at the same server."""
    with httpx.Client(base_url=stranger.base_url, timeout=60) as made:
        yield made


def test_a_tablet_enrols_opens_a_session_and_works(stranger: httpx.Client, code: str) -> None:
    pusher = Pusher(Tablet("tab-5", setup=SETUP), stranger)
    enrolled = pusher.enrol(code)
    assert enrolled.status_code == 201
    assert enrolled.json()["name"] == "Bench 1"
    answer = pusher.open_session()
    assert (answer.status_code, answer.content) == (204, b"")
    cookie = answer.headers["set-cookie"]
    assert cookie.startswith(f"{TABLET_COOKIE}=")
    assert {"HttpOnly", "SameSite=strict", "Max-Age=43200"} <= set(cookie.split("; "))
    assert "Secure" not in cookie
    pusher.tablet.open()
    pushed = pusher.push().json()
    assert [one["outcome"] for one in pushed["results"]] == ["stored"]
    assert pushed["tablet"] == "in use"
    assert pusher.pull().json()["events"][0]["text"] == pusher.tablet.texts[0]


def test_what_is_wrong_with_an_enrolment_is_said_by_code(
    stranger: httpx.Client, shop: Shop, code: str
) -> None:
    pusher = Pusher(Tablet("tab-5", setup=SETUP), stranger)
    assert_problem(pusher.enrol("22222-22222"), 403, "code-unknown")
    assert_problem(pusher.enrol(code, proof="A" * 86 + "=="), 403, "proof-wrong")
    shop.tablet("tab-5")
    taken = Pusher(Tablet("tab-5", setup=SETUP), stranger)
    taken.tablet.key = key_of("tab-6")
    assert_problem(taken.enrol(code), 409, "tablet-known")
    for wrong in ({}, {"code": code}, None, {"code": 5}):
        assert_problem(stranger.post("/api/tablets/enrol", json=wrong), 422, "bad-input")


def test_a_session_needs_the_key(stranger: httpx.Client, shop: Shop) -> None:
    pusher = Pusher(shop.tablet(), stranger)
    nonce = pusher.nonce()
    assert pusher.open_session(nonce).status_code == 204
    assert_problem(pusher.open_session(nonce), 401, "not-enrolled")
    assert_problem(
        Pusher(Tablet("tab-9", setup=SETUP), stranger).open_session(), 401, "not-enrolled"
    )
    thief = Pusher(Tablet("tab-1", setup=SETUP), stranger)
    thief.tablet.key = key_of("tab-2")
    assert_problem(thief.open_session(), 401, "not-enrolled")


def test_nothing_of_the_shop_is_open_to_strangers(stranger: httpx.Client, shop: Shop) -> None:
    shop.tablet()
    for _ in range(2):
        for path in READ:
            assert_problem(stranger.get(path), 401, "not-signed-in")
        for path in EXCHANGE:
            assert_problem(stranger.get(path), 401, "not-enrolled")
        body = Pusher(Tablet("tab-1", setup=SETUP), stranger).body(["x"])
        assert_problem(stranger.post("/api/sync/push", json=body), 401, "not-enrolled")
        stranger.cookies.set(TABLET_COOKIE, "made-up")
        stranger.cookies.set(SESSION_COOKIE, "made-up")
    with shop.reader as uow:
        assert uow.events.set_asides(1, 5).total == 0
    for path in ("/api/health", "/api/openapi.json", "/api/docs"):
        assert stranger.get(path).status_code == 200


def test_tablets_and_people_of_the_office_read_the_shop(
    stranger: httpx.Client, second: httpx.Client, shop: Shop
) -> None:
    with shop.uow as uow:
        credentials.set_secret(uow, shop.means, "B-03", "password", "quiet corner 7")
        uow.commit()
    Pusher(shop.tablet(), stranger).open_session().raise_for_status()
    page = second.get("/sign-in").text
    token = page.partition('name="csrf" value="')[2][:64]
    fields = {"csrf": token, "badge": "B-03", "password": "quiet corner 7"}
    assert second.post("/sign-in", data=fields).status_code == 303
    for path in READ:
        assert stranger.get(path).status_code == second.get(path).status_code == 200
    for path in EXCHANGE:
        assert_problem(second.get(path), 401, "not-enrolled")


def test_a_session_speaks_for_its_own_tablet_alone(pusher: Pusher, shop: Shop) -> None:
    other = shop.tablet("tab-2")
    other.open()
    body = Pusher(other, pusher.client).body()
    assert_problem(pusher.client.post("/api/sync/push", json=body), 403, "other-tablet")
    carried = pusher.push(other.texts, sigs=other.sigs()).json()["results"][0]
    assert (carried["outcome"], carried["flags"]) == ("stored", ["sent by another tablet"])


def test_a_revoked_tablet_may_send_and_gets_nothing(pusher: Pusher, shop: Shop) -> None:
    tablets.revoke(shop.uow, shop.means, "tab-1", "left on the bus", LEAD)
    pusher.tablet.open()
    assert_problem(pusher.push(), 401, "not-enrolled")
    pusher.open_session().raise_for_status()
    for path in (*READ, *EXCHANGE):
        assert_problem(pusher.client.get(path), 403, "tablet-revoked")
    pushed = pusher.push().json()
    assert (pushed["tablet"], pushed["results"][0]["flags"]) == ("revoked", ["tablet revoked"])


def test_old_pushes_played_again_change_nothing(pusher: Pusher, shop: Shop) -> None:
    pusher.tablet.open()
    bodies = [pusher.body()]
    pusher.tablet.write("note", None, text="clean")
    bodies.append(pusher.body(pusher.tablet.texts[-1:]))
    first = [pusher.client.post("/api/sync/push", json=one).json() for one in bodies]
    again = [pusher.client.post("/api/sync/push", json=one).json() for one in reversed(bodies)]
    assert {one["results"][0]["outcome"] for one in first} == {"stored"}
    assert {one["results"][0]["outcome"] for one in again} == {"already"}
    with shop.reader as uow:
        assert len(uow.events.after(0, 10)) == 2


def test_an_ended_session_does_not_speak(stranger: httpx.Client, shop: Shop) -> None:
    cookies = session_cookie(shop, shop.tablet())
    stranger.cookies.update(cookies)
    assert stranger.get("/api/plates").status_code == 200
    with shop.uow as uow:
        uow.tablets.end_sessions(until=dt.datetime.now(dt.UTC) + tablets.SESSION)
        uow.commit()
    assert_problem(stranger.get("/api/plates"), 401, "not-signed-in")


def test_a_nonce_is_of_one_server_start(configured: Settings, shop: Shop) -> None:
    tablet = shop.tablet()
    with client_of(create_app(configured)) as client:
        nonce = Pusher(tablet, client).nonce()
    with client_of(create_app(configured)) as client:
        assert_problem(Pusher(tablet, client).open_session(nonce), 401, "not-enrolled")
