"""Push, pull, shop and hints over http."""

from __future__ import annotations

import http.client
import json
import time
from collections.abc import Iterator, Sequence

import httpx

from api.use_cases import stores
from tests.routes.api.test_reading import assert_problem
from tests.support.net import PATIENCE_S
from tests.support.script import Tablet
from tests.support.shop import OWNER, STEPS, TOOL, Shop

JSON = {"Content-Type": "application/json"}


def body(tablet: Tablet, texts: Sequence[object] | None = None) -> dict[str, object]:
    return {
        "tablet": tablet.name,
        "build": "test",
        "events": tablet.texts if texts is None else texts,
        "sigs": tablet.sigs(texts),
    }


def worked(shop: Shop, until: str = "torque/1/C1") -> Tablet:
    tablet = shop.tablet()
    tablet.open()
    list(tablet.work(STEPS, until))
    return tablet


def test_a_push_answers_event_by_event_and_a_pull_gives_them_back(
    client: httpx.Client, shop: Shop
) -> None:
    tablet = worked(shop)
    pushed = client.post("/api/sync/push", json=body(tablet)).json()
    assert {one["outcome"] for one in pushed["results"]} == {"stored"}
    assert pushed["contiguous"] == len(tablet.texts)
    assert pushed["watermark"] is None
    pulled = client.get("/api/sync/pull", params={"after": 0}).json()
    assert [one["text"] for one in pulled["events"]] == tablet.texts
    assert (pulled["head"], pulled["more"]) == (pushed["head"], False)
    assert pulled["epoch"] == pushed["epoch"]


def test_a_bad_event_in_the_middle_of_a_push_blocks_nothing(
    client: httpx.Client, shop: Shop
) -> None:
    tablet = worked(shop, "free/C2")
    texts = [tablet.texts[0], "y" * 2_000_000, "\ud800", 17, None, *tablet.texts[1:]]
    sent = json.dumps(body(tablet, texts)).encode()
    answer = client.post(
        "/api/sync/push", content=sent, headers={"content-type": "application/json"}
    )
    assert answer.status_code == 200
    outcomes = [one["outcome"] for one in answer.json()["results"]]
    assert outcomes == ["stored"] + ["set aside"] * 4 + ["stored"] * (len(tablet.texts) - 1)


NONE: dict[str, object] = {"tablet": "t", "build": "b", "events": [], "sigs": []}
MALFORMED = [
    {"tablet": "x", "build": "b"},
    {"tablet": "t", "build": "b", "events": []},
    NONE | {"tablet": ""},
    NONE | {"tablet": "a" * 1_000_000},
    NONE | {"build": "b" * 1_000_000},
    NONE | {"build": "b\0"},
    NONE | {"events": "text"},
    NONE | {"events": ["x"] * 201, "sigs": [None] * 201},
    NONE | {"events": ["x"]},
    NONE | {"sigs": ["x" * 1_000]},
    NONE | {"events": ["x"], "sigs": [5]},
    NONE | {"seen": {"seq": -1, "chain": "ab" * 32}},
    NONE | {"seen": {"seq": 2**53, "chain": "ab" * 32}},
    NONE | {"tablet": 5},
    NONE | {"more": 1},
    [],
    "text",
    None,
]


def test_a_malformed_push_is_refused_whole_and_cheaply(client: httpx.Client, shop: Shop) -> None:
    for wrong in MALFORMED:
        began = time.monotonic()
        answer = client.post("/api/sync/push", json=wrong)
        assert_problem(answer, 422, "bad-input")
        assert time.monotonic() - began < 2
        assert len(answer.content) < 2000
    with shop.reader as uow:
        assert uow.events.set_asides(1, 10).total == 0
        assert [one.id for one in uow.tablets.all()] == ["tab-1"]


ABSURD = [
    (b"x" * 5_000_000, 413, "too-long"),
    (b'{"tablet": "' + b"x" * 4_500_000 + b'"}', 413, "too-long"),
    (b"[" * 1_000_000, 400, "too-deep"),
    (b'{"a":' * 500_000, 400, "too-deep"),
    (b"[]," * 1_000_000, 400, "too-deep"),
    (b'"' + b'\\"' * 1_900_000, 422, "bad-input"),
    (b"{", 422, "bad-input"),
    (b"\xff\xfe", 422, "bad-input"),
    (b"", 422, "bad-input"),
]


def test_an_absurd_body_is_refused_cheaply(client: httpx.Client) -> None:
    for sent, status, code in ABSURD:
        began = time.monotonic()
        answer = client.post(
            "/api/sync/push", content=sent, headers={"content-type": "application/json"}
        )
        assert_problem(answer, status, code)
        assert time.monotonic() - began < 2


def test_a_sender_of_too_long_a_body_is_let_finish_and_hears_why(client: httpx.Client) -> None:
    """`http.client` stops at the first broken pipe, where httpx would go on to the answer."""
    sender = http.client.HTTPConnection(
        client.base_url.host, client.base_url.port, timeout=PATIENCE_S
    )
    for _ in range(5):
        sender.request("POST", "/api/sync/push", b"x" * 20_000_000, JSON)
        answer = sender.getresponse()
        assert (answer.status, json.loads(answer.read())["code"]) == (413, "too-long")
    sender.close()


def test_an_endless_body_is_cut_off_at_the_limit(client: httpx.Client) -> None:
    sent = 0

    def endless() -> object:
        nonlocal sent
        while True:
            sent += 100_000
            yield b"x" * 100_000

    try:
        answer = client.post("/api/sync/push", content=endless(), headers=JSON)  # type: ignore[arg-type]
        assert_problem(answer, 413, "too-long")
    except httpx.TransportError:
        pass
    assert sent < 60_000_000


def test_the_shop_is_sent_again_only_when_something_changed(
    client: httpx.Client, shop: Shop
) -> None:
    first = client.get("/api/sync/shop")
    tag = first.headers["etag"]
    assert first.json()["version"] in tag
    again = client.get("/api/sync/shop", headers={"If-None-Match": tag})
    assert (again.status_code, again.content) == (304, b"")
    stores.save_item(shop.uow, shop.means, "tool", TOOL | {"title": "Other wrench"}, OWNER)
    changed = client.get("/api/sync/shop", headers={"If-None-Match": f'"other", {tag}'})
    assert changed.status_code == 200
    assert changed.json()["tools"][0]["title"] == "Other wrench"
    assert changed.headers["etag"] != tag


def test_the_shop_holds_all_a_tablet_needs_to_work_alone(client: httpx.Client, shop: Shop) -> None:
    tablet = worked(shop)
    client.post("/api/sync/push", json=body(tablet))
    found = client.get("/api/sync/shop").json()
    assert [one["steps"] for one in found["sheets"]] == [STEPS]
    assert found["plates"][0]["state"] == "being loaded"
    assert found["plates"][0]["open_setup"]["tablet"] == "tab-1"
    assert found["tools"][0]["pulls"] == 1
    assert {one["badge"] for one in found["people"]} == {f"B-0{n}" for n in range(1, 6)}
    assert found["key"]["id"] == shop.keys.key_id
    assert found["pace"]["clean"] == 1.0


def test_a_hint_follows_a_push(client: httpx.Client, shop: Shop) -> None:
    tablet = worked(shop)
    with client.stream("GET", "/api/sync/hints") as stream:
        assert stream.headers["content-type"].startswith("text/event-stream")
        hints = heads(stream)
        before = next(hints)
        pushed = client.post("/api/sync/push", json=body(tablet)).json()
        assert before < pushed["head"]
        assert pushed["head"] in hints


def heads(stream: httpx.Response) -> Iterator[int]:
    """What the stream tells, for a minute; a ping comes every quarter of it."""
    ends = time.monotonic() + PATIENCE_S
    for line in stream.iter_lines():
        if time.monotonic() > ends:
            return
        if line.startswith("data:"):
            yield json.loads(line.removeprefix("data:"))["head"]


def test_a_parameter_given_twice_is_refused_since_either_could_be_meant(
    client: httpx.Client,
) -> None:
    answer = client.get("/api/sync/pull?after=7&after=0")
    problem = assert_problem(answer, 422, "parameter-repeated")
    assert problem["detail"] == "The parameter 'after' is given 2 times. Give it once."
