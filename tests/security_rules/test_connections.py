"""The server's own sockets: requests that can be read in two ways, are too large, or never come."""

from __future__ import annotations

import socket
from collections.abc import Iterator
from pathlib import Path

import pytest

from api.app import create_app
from api.cli.connections import BoundedConnection
from api.settings import Settings
from tests.support.net import PATIENCE_S, wait_until
from tests.support.site import serving

HOST = b"Host: shop.test\r\n"
CLOSE = b"Connection: close\r\n"
JSON = b"Content-Type: application/json\r\n"


@pytest.fixture
def port(tmp_path: Path) -> Iterator[int]:
    """A server over an empty folder: what never reaches a route needs no records."""
    with serving(create_app(Settings(data=tmp_path, database_url=""))) as address:
        yield int(address.rpartition(":")[2])


def dialled(port: int) -> socket.socket:
    return socket.create_connection(("127.0.0.1", port), timeout=PATIENCE_S)


def answer_to(port: int, request: bytes) -> bytes:
    """All that comes until the server closes the connection."""
    with dialled(port) as connection:
        connection.sendall(request)
        return read_on(connection)


def read_on(connection: socket.socket) -> bytes:
    parts = []
    try:
        while got := connection.recv(65536):
            parts.append(got)
    except ConnectionResetError:
        pass
    return b"".join(parts)


def status_of(answer: bytes) -> int:
    return int(answer.split(b" ", 2)[1])


def post(more: bytes, body: bytes) -> bytes:
    return b"POST /api/sync/push HTTP/1.1\r\n" + HOST + CLOSE + JSON + more + b"\r\n" + body


@pytest.mark.parametrize(
    ("request_bytes", "status"),
    [
        (
            post(
                b"Content-Length: 4\r\nTransfer-Encoding: chunked\r\n",
                b"0\r\n\r\nGET / HTTP/1.1\r\n\r\n",
            ),
            400,
        ),
        (post(b"Content-Length: 4\r\nContent-Length: 5\r\n", b"abcd"), 400),
        (post(b"Transfer-Encoding: gzip, chunked\r\n", b"0\r\n\r\n"), 400),
        (post(b"Transfer-Encoding: xchunked\r\n", b"0\r\n\r\n"), 400),
        (post(b"Transfer-Encoding : chunked\r\n", b"0\r\n\r\n"), 400),
        (post(b"Content-Length: +2\r\n", b"{}"), 400),
        (post(b"Content-Length: -1\r\n", b"{}"), 400),
        (post(b"Transfer-Encoding: chunked\r\n", b"zz\r\n{}\r\n0\r\n\r\n"), 400),
        (post(b"Transfer-Encoding: chunked\r\n", b"fffffffffffffffffffff\r\n{}\r\n"), 400),
        (b"GET / HTTP/1.1\r\n" + HOST + b"Host: elsewhere.test\r\n\r\n", 400),
        (b"GET / HTTP/1.1\r\n\r\n", 400),
        (b"GET / HTTP/1.1\r\n" + HOST + b"X: a\0b\r\n\r\n", 400),
        (b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\r\n\r\n", 400),
        (b"PRI * HTTP/2.0\r\n" + HOST + CLOSE + b"\r\n", 505),
        (b"GET / HTTP/9.9\r\n" + HOST + CLOSE + b"\r\n", 505),
        (b"GET /" + b"a" * 5000 + b" HTTP/1.1\r\n" + HOST + CLOSE + b"\r\n", 400),
        (b"GET / HTTP/1.1\r\n" + HOST + CLOSE + b"X: " + b"a" * 20_000 + b"\r\n\r\n", 431),
        (b"GET / HTTP/1.1\r\n" + HOST + CLOSE + b"X: " + b"a" * 1_000_000, 400),
        (b"GET / HTTP/1.1\r\n" + HOST + CLOSE + b"X: a\r\n" * 100 + b"\r\n", 431),
        (
            post(b"Content-Length: 2\r\nOrigin: http://shop.test\r\nOrigin: http://x\r\n", b"{}"),
            400,
        ),
        (b"TRACE / HTTP/1.1\r\n" + HOST + CLOSE + b"\r\n", 405),
        (b"CONNECT elsewhere.test:443 HTTP/1.1\r\n" + HOST + CLOSE + b"\r\n", 404),
    ],
)
def test_a_request_that_can_be_read_in_two_ways_or_is_too_large_is_refused(
    port: int, request_bytes: bytes, status: int
) -> None:
    answer = answer_to(port, request_bytes)
    assert status_of(answer) == status
    assert answer.count(b"HTTP/1.1 ") == 1, "what followed was taken for a request"
    lower = answer.lower()
    assert b"content-security-policy: default-src 'none'" in lower
    assert b"nosniff" in lower
    assert b"\r\nserver:" not in lower
    assert b"traceback" not in lower


def test_what_is_left_of_a_refused_body_is_not_taken_for_a_request(port: int) -> None:
    hidden = b"GET /sign-in HTTP/1.1\r\nHost: shop.test\r\n\r\n"
    request = b"POST /api/sync/push HTTP/1.1\r\n" + HOST + b"Content-Type: text/plain\r\n"
    answer = answer_to(port, request + b"Content-Length: %d\r\n\r\n" % len(hidden) + hidden)
    assert status_of(answer) == 415
    assert answer.count(b"HTTP/1.1 ") == 1


def test_a_line_break_in_an_address_makes_no_header(port: int) -> None:
    target = b"GET /sign-in%0d%0aSet-Cookie:%20a=b HTTP/1.1\r\n"
    answer = answer_to(port, target + HOST + CLOSE + b"\r\n")
    assert status_of(answer) == 404
    assert b"\r\nset-cookie: a=b" not in answer.lower()


def test_a_web_socket_is_not_opened(port: int) -> None:
    asked = (
        b"GET /bench HTTP/1.1\r\n" + HOST + b"Connection: Upgrade, close\r\nUpgrade: websocket\r\n"
    )
    key = b"Sec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n"
    assert status_of(answer_to(port, asked + key)) != 101


@pytest.mark.parametrize(
    "start", [b"", b"GET / HT", b"GET / HTTP/1.1\r\nHost: shop.test\r\nX: a\r\n"]
)
def test_a_head_that_does_not_come_to_an_end_is_given_up(
    port: int, start: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(BoundedConnection, "longest_head_s", 0.1)
    with dialled(port) as connection:
        connection.sendall(start)
        assert read_on(connection).startswith(b"HTTP/1.1 408 ")


def test_bytes_that_drip_in_do_not_buy_more_time(
    port: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(BoundedConnection, "longest_head_s", 0.3)
    with dialled(port) as connection:
        connection.sendall(b"GET / HTTP/1.1\r\n")
        connection.settimeout(0.02)
        answer = b""

        def dripped() -> bool:
            nonlocal answer
            try:
                connection.sendall(b"X: a\r\n")
                answer += connection.recv(1000)
            except TimeoutError:
                return False
            except OSError:
                return True
            return answer != b""

        wait_until(dripped, within_s=10, what="end of a connection that drips")


def test_one_address_does_not_take_all_connections(
    port: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(BoundedConnection, "most_of_one_address", 3)
    held = [dialled(port) for _ in range(3)]
    try:
        with dialled(port) as one_more:
            assert read_on(one_more) == b""
        held[0].sendall(b"GET /bench HTTP/1.1\r\n" + HOST + CLOSE + b"\r\n")
        assert status_of(read_on(held[0])) in (200, 503)
    finally:
        for connection in held:
            connection.close()
