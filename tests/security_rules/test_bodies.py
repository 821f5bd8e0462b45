"""Bodies: too long, too slow, broken off, packed, too deep, or of too many parts."""

from __future__ import annotations

import gzip
import http.client

import httpx
import pytest

from api.routes.guards.body import MOST_BRACKETS, MOST_DEPTH, BodyGuard, is_too_deep
from tests.routes.office.visitor import Site, Visitor
from tests.security_rules.plain_app import Echo, part, played, scope_of, status_of
from tests.support.net import PATIENCE_S

JSON = {"content_type": "application/json"}


def guarded(most_bytes: int = 100, longest_s: float = 60) -> tuple[BodyGuard, Echo]:
    echo = Echo()
    return BodyGuard(echo, most_bytes, longest_s), echo


def test_a_body_within_the_limits_comes_whole_to_the_route() -> None:
    guard, echo = guarded()
    assert (
        status_of(played(guard, scope_of(**JSON), [part(b'{"a"'), part(b": 1}", more=False)]))
        == 200
    )
    assert echo.bodies == [b'{"a": 1}']


def test_a_body_that_says_it_is_too_long_is_refused_before_it_comes() -> None:
    guard, echo = guarded()
    sent = played(guard, scope_of(content_length="101", expect="100-continue"), [])
    assert (status_of(sent), echo.bodies) == (413, [])


def test_a_body_in_pieces_that_never_says_its_length_is_refused_once_it_is_too_long() -> None:
    guard, echo = guarded()
    pieces = [part(b"x" * 60), part(b"x" * 60), part(b"", more=False)]
    assert (status_of(played(guard, scope_of(), pieces)), echo.bodies) == (413, [])


def test_a_body_that_does_not_come_to_an_end_is_given_up() -> None:
    guard, echo = guarded(longest_s=0.05)
    assert (status_of(played(guard, scope_of(), [part(b"{")])), echo.bodies) == (408, [])


def test_half_a_body_is_none() -> None:
    guard, echo = guarded()
    sent = played(guard, scope_of(), [part(b'{"reason": "worn'), {"type": "http.disconnect"}])
    assert (sent, echo.bodies) == ([], [])


@pytest.mark.parametrize(
    ("body", "deep"),
    [
        (b"[" * MOST_DEPTH + b"]" * MOST_DEPTH, False),
        (b"[" * (MOST_DEPTH + 1), True),
        (b'{"a":' * (MOST_DEPTH + 1), True),
        (b"[]," * (MOST_BRACKETS + 1), True),
        (b'"' + b"[" * 1000 + b'"', False),
        (b'"\\"' + b"[" * 1000 + b'"', False),
        (b'"' + b"[" * 1_000_000, False),
    ],
)
def test_brackets_are_counted_outside_strings(body: bytes, deep: bool) -> None:
    assert is_too_deep(body) is deep


def test_deep_json_is_a_problem_and_not_a_crash(site: Site) -> None:
    with site.visitor() as visitor:
        answer = visitor.client.post(
            "/api/sync/push", content=b"[" * 100_000, headers={"Content-Type": "application/json"}
        )
    assert (answer.status_code, answer.json()["code"]) == (400, "too-deep")


def test_a_packed_body_is_refused_unopened(site: Site) -> None:
    bomb = gzip.compress(b"0" * 3_000_000)
    with site.visitor() as visitor:
        for packing in ("gzip", "deflate", "br", "identity, gzip", "GZIP"):
            headers = {"Content-Type": "application/json", "Content-Encoding": packing}
            answer = visitor.client.post("/api/sync/push", content=bomb, headers=headers)
            assert (answer.status_code, answer.json()["code"]) == (415, "packed-body")


def test_an_upload_larger_than_the_limit_is_refused(lead: Visitor) -> None:
    answer = lead.send_file("/load-design", b"#" * 5_000_000)
    assert answer.status_code == httpx.codes.REQUEST_ENTITY_TOO_LARGE
    assert "too long" in answer.text


@pytest.mark.parametrize("files", [2, 500])
def test_one_file_comes_with_a_form_and_no_more(lead: Visitor, files: int) -> None:
    many = [(f"upload{n}", (f"{n}.toml", b"a = 1", "text/plain")) for n in range(files)]
    answer = lead.client.post("/load-design", data={"csrf": lead.token()}, files=many)
    assert answer.status_code == httpx.codes.BAD_REQUEST
    assert "Too many files" in answer.text


def test_a_form_of_too_many_fields_is_refused(lead: Visitor) -> None:
    fields = {f"f{n}": "x" for n in range(200)} | {"csrf": lead.token()}
    answer = lead.client.post("/load-design", data=fields)
    assert answer.status_code == httpx.codes.BAD_REQUEST


def test_a_broken_multipart_body_is_a_problem_and_not_a_crash(lead: Visitor) -> None:
    for body in (
        b"",
        b"--x",
        b"--x\r\n\r\n",
        b"--y\r\nContent-Disposition: form-data\r\n\r\n1\r\n--y--",
    ):
        headers = {"Content-Type": "multipart/form-data; boundary=x"}
        answer = lead.client.post("/load-design", content=body, headers=headers)
        assert answer.status_code in (400, 403)
    for kind in ("multipart/form-data", "multipart/form-data; boundary="):
        answer = lead.client.post("/load-design", content=b"--x", headers={"Content-Type": kind})
        assert answer.status_code in (400, 403)


def test_a_sender_that_is_refused_at_once_still_hears_why(site: Site) -> None:
    """A connection closed with bytes unread is reset, and the reset overtakes the answer."""
    address = httpx.URL(site.url)
    sender = http.client.HTTPConnection(address.host, address.port, timeout=PATIENCE_S)
    for headers, status in (
        ({"Content-Type": "text/plain"}, 415),
        ({"Content-Type": "application/json", "Origin": "https://elsewhere.test"}, 403),
    ):
        sender.request("POST", "/api/sync/push", b"x" * 20_000_000, headers)
        answer = sender.getresponse()
        assert (answer.status, len(answer.read()) > 0) == (status, True)
    sender.close()
