"""How much one address may ask, and that it cannot starve the others."""

from __future__ import annotations

import asyncio
from typing import Any

import httpx
import pytest
from starlette.types import Message, Receive, Scope, Send

from api.routes.guards.limits import Limit, limits
from api.routes.guards.rates import Buckets, RateGuard, address_of
from tests.routes.office.visitor import Site

TEN = Limit("ten", burst=10, per_min=10)


class Time:
    def __init__(self) -> None:
        self.now_s = 0.0

    def __call__(self) -> float:
        return self.now_s


async def fine(scope: Scope, receive: Receive, send: Send) -> None:
    await send({"type": "http.response.start", "status": 200, "headers": []})
    await send({"type": "http.response.body", "body": b""})


def ask(guard: RateGuard, path: str, address: str = "10.0.0.1", method: str = "POST") -> int:
    scope: dict[str, Any] = {
        "type": "http",
        "method": method,
        "path": path,
        "headers": [],
        "query_string": b"",
        "client": (address, 1),
        "scheme": "http",
        "server": ("shop.test", 80),
        "root_path": "",
    }
    sent: list[Message] = []

    async def send(message: Message) -> None:
        sent.append(message)

    async def receive() -> Message:
        return {"type": "http.request", "body": b"", "more_body": False}

    asyncio.run(guard(scope, receive, send))
    status: int = sent[0]["status"]
    return status


def test_a_burst_is_taken_and_then_as_much_as_the_limit_gives_back() -> None:
    time = Time()
    buckets = Buckets(time)
    assert [buckets.wait_s(TEN, "a") for _ in range(10)] == [0.0] * 10
    assert buckets.wait_s(TEN, "a") == pytest.approx(6.0)
    time.now_s = 5.9
    assert buckets.wait_s(TEN, "a") > 0
    time.now_s = 6.1
    assert buckets.wait_s(TEN, "a") == 0
    assert buckets.wait_s(TEN, "a") > 0


def test_asking_while_it_is_closed_does_not_keep_it_closed() -> None:
    time = Time()
    buckets = Buckets(time)
    for _ in range(200):
        buckets.wait_s(TEN, "a")
    time.now_s = 60.0
    assert [buckets.wait_s(TEN, "a") for _ in range(10)] == [0.0] * 10


def test_a_clock_that_steps_back_gives_nothing_and_takes_nothing() -> None:
    time = Time()
    time.now_s = 100.0
    buckets = Buckets(time)
    for _ in range(10):
        buckets.wait_s(TEN, "a")
    time.now_s = 0.0
    assert buckets.wait_s(TEN, "a") == pytest.approx(6.0)


def test_one_address_does_not_use_up_what_another_has() -> None:
    buckets = Buckets(Time())
    for _ in range(50):
        buckets.wait_s(TEN, "a")
    assert buckets.wait_s(TEN, "b") == 0


def test_memory_stays_bounded_and_whoever_asks_often_is_not_forgotten() -> None:
    buckets = Buckets(Time(), most=100)
    for _ in range(11):
        buckets.wait_s(TEN, "busy")
    for number in range(1000):
        buckets.wait_s(TEN, f"stranger {number}")
        assert buckets.wait_s(TEN, "busy") > 0
    assert len(buckets) == 100


@pytest.mark.parametrize(
    ("path", "allowed"),
    [
        ("/sign-in", 10),
        ("/sign-in/", 10),
        ("/api/tablets/enrol", 30),
        ("/api/tablets/challenge", 200),
        ("/api/tablets/session", 200),
        ("/api/sync/push", 400),
        ("/plates/SAD-20-001/hold", 400),
    ],
)
def test_each_path_has_the_limit_of_the_table(path: str, allowed: int) -> None:
    guard = RateGuard(fine, limits(sign_ins_per_min=10), Time())
    answers = [ask(guard, path) for _ in range(allowed + 3)]
    assert answers == [200] * allowed + [429] * 3
    assert ask(guard, path, address="10.0.0.2") == 200
    assert ask(guard, "/other", method="GET") == 200


def test_readiness_is_limited_in_reading_too_and_other_reading_is_not() -> None:
    guard = RateGuard(fine, limits(10), Time())
    assert [ask(guard, "/api/ready", method="GET") for _ in range(61)][-1] == 429
    assert {ask(guard, "/plates", method="GET") for _ in range(500)} == {200}


def test_fifty_tablets_behind_one_address_push_twice_a_second_for_five_minutes() -> None:
    time = Time()
    guard = RateGuard(fine, limits(10), time)
    for second in range(300):
        time.now_s = float(second)
        assert {ask(guard, "/api/sync/push") for _ in range(100)} == {200}


@pytest.mark.parametrize(
    ("client", "address"),
    [
        (("192.168.1.7", 5), "192.168.1.7"),
        (("::ffff:192.168.1.7", 5), "192.168.1.7"),
        (("2001:db8:1:2:3:4:5:6", 5), "2001:db8:1:2::/64"),
        (("fe80::1%eth0", 5), "fe80::/64"),
        (("testclient", 5), "testclient"),
        (None, ""),
    ],
)
def test_an_address_is_one_machine_and_in_ipv6_its_network(client: Any, address: str) -> None:
    assert address_of({"client": client}) == address


def test_the_eleventh_sign_in_of_a_minute_waits_and_is_told_how_long(site: Site) -> None:
    with site.visitor() as visitor:
        token = visitor.token("/sign-in")
        answers = [
            visitor.client.post(
                "/sign-in", data={"csrf": token, "badge": f"B-{n}", "password": "not this"}
            )
            for n in range(50, 61)
        ]
        assert [one.status_code for one in answers] == [401] * 10 + [429]
        assert 0 < int(answers[-1].headers["retry-after"]) <= 6
        assert "Too many requests came from this address" in answers[-1].text
        other = visitor.client.post("/api/sync/push", json={})
        assert other.status_code != httpx.codes.TOO_MANY_REQUESTS


def test_a_made_up_forwarding_header_does_not_make_another_address(site: Site) -> None:
    with site.visitor() as visitor:
        token = visitor.token("/sign-in")
        fields = {"csrf": token, "badge": "B-50", "password": "not this"}
        answers = [
            visitor.client.post(
                "/sign-in", data=fields, headers={"X-Forwarded-For": f"10.0.0.{n}"}
            ).status_code
            for n in range(11)
        ]
    assert answers[-1] == httpx.codes.TOO_MANY_REQUESTS
