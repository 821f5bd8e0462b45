"""A real server on the shop's network: encryption, one origin, the welcome page, one's own proxy."""

from __future__ import annotations

import hashlib
import re
import signal
import socket
import ssl
import time
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from cryptography import x509

from tests.cli.conftest import Run
from tests.support.net import PATIENCE_S, free_port
from tests.support.server import Server
from tests.support.tls_server import NAME, TlsServer

STOP_WITHIN_S = 5
CERTIFICATE = "application/x-x509-ca-cert"


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TlsServer]:
    with TlsServer(tmp_path_factory.mktemp("network") / "shop") as started:
        yield started


def at_the_door(shop: TlsServer, path: str, **headers: str) -> httpx.Response:
    return httpx.get(f"{shop.welcome}{path}", headers=headers, timeout=PATIENCE_S)


# the shop itself


def test_who_trusts_the_authority_is_answered_and_who_does_not_refuses(shop: TlsServer) -> None:
    assert shop.get("/api/health").json()["status"] == "ok"
    with pytest.raises(httpx.ConnectError, match="CERTIFICATE_VERIFY_FAILED"):
        httpx.get(f"https://localhost:{shop.port}/api/health", timeout=PATIENCE_S)


def test_cookies_are_for_https_and_browsers_are_told_to_stay_there(shop: TlsServer) -> None:
    answer = shop.get("/sign-in")
    assert answer.headers["strict-transport-security"].startswith("max-age=31536000")
    assert "preload" not in answer.headers["strict-transport-security"]
    (cookie,) = answer.headers.get_list("set-cookie")
    assert cookie.startswith("__Host-clampbook_visit=")
    assert "Secure" in cookie and "HttpOnly" in cookie


def test_localhost_is_served_as_it_is_and_makes_no_promise_for_others(shop: TlsServer) -> None:
    answer = shop.get("/sign-in", host=f"localhost:{shop.port}")
    assert answer.status_code == 200
    assert "strict-transport-security" not in answer.headers


@pytest.mark.parametrize(
    "host",
    ["127.0.0.1:{port}", "clamp:{port}", "clamp.test", "clamp.test:1", "evil.test", "clamp.test:x"],
)
def test_every_other_name_is_sent_to_the_one_origin_before_anything_is_kept(
    shop: TlsServer, host: str
) -> None:
    answer = shop.get("/sign-in?next=%2Fplates&x=1", host=host.format(port=shop.port))
    assert answer.status_code == 308
    assert answer.headers["location"] == f"{shop.url}/sign-in?next=%2Fplates&x=1"
    assert "set-cookie" not in answer.headers
    assert answer.headers["cache-control"] == "no-store"


@pytest.mark.parametrize("host", ["CLAMP.test:{port}", "clamp.test.:{port}"])
def test_the_name_is_known_however_it_is_written(shop: TlsServer, host: str) -> None:
    assert shop.get("/sign-in", host=host.format(port=shop.port)).status_code == 200


def test_no_part_of_a_request_moves_the_redirect_to_another_host(shop: TlsServer) -> None:
    with (
        socket.create_connection(("127.0.0.1", shop.port), PATIENCE_S) as plain,
        shop.trusting().wrap_socket(plain, server_hostname=NAME) as encrypted,
    ):
        encrypted.sendall(b"GET @evil.test/ HTTP/1.1\r\nHost: other\r\nConnection: close\r\n\r\n")
        answer = b"".join(iter(lambda: encrypted.recv(65536), b""))
    assert f"location: {shop.url}/\r\n".encode() in answer


def test_a_change_under_another_name_is_refused_and_says_where_to_go(shop: TlsServer) -> None:
    answer = shop.ask("POST", "/api/tablets/challenge", host="evil.test", json={"tablet": "x"})
    assert answer.status_code == 421
    assert answer.json()["code"] == "other-name"
    assert shop.url in answer.json()["detail"]


def test_old_encryption_is_refused(shop: TlsServer) -> None:
    asking = shop.trusting()
    asking.set_ciphers("ALL:@SECLEVEL=0")
    with pytest.warns(DeprecationWarning, match="TLSv1_1"):
        asking.minimum_version = asking.maximum_version = ssl.TLSVersion.TLSv1_1
    with (
        socket.create_connection(("127.0.0.1", shop.port), PATIENCE_S) as plain,
        pytest.raises(ssl.SSLError),
    ):
        asking.wrap_socket(plain, server_hostname=NAME)


# the welcome page


def test_the_terminal_shows_where_to_begin_and_the_fingerprint(shop: TlsServer) -> None:
    printed = shop.log.read_text()
    digest = hashlib.sha256(shop.authority.read_bytes()).hexdigest().upper()
    pairs = re.findall("..", digest)
    assert f"{shop.welcome}/" in printed
    assert f"{shop.url}/bench" in printed
    for at in range(0, 32, 8):
        assert " ".join(pairs[at : at + 8]) in printed
    assert "█" in printed or "▄" in printed


def test_the_welcome_page_shows_fingerprint_code_steps_and_the_way_on(shop: TlsServer) -> None:
    answer = at_the_door(shop, "/", **{"user-agent": "Mozilla/5.0 (Linux; Android 14; Tablet)"})
    text = answer.text
    assert answer.headers["content-type"].startswith("text/html")
    assert "script-src 'self'" in answer.headers["content-security-policy"]
    assert "<script" not in text and "style=" not in text
    digest = hashlib.sha256(shop.authority.read_bytes()).hexdigest().upper()
    print_shown = re.search(r"data-fingerprint>(.*?)</p>", text, re.DOTALL)
    assert print_shown is not None
    assert re.sub(r"<[^>]*>|:|\s", "", print_shown[1]) == digest
    assert f'aria-label="QR code of {shop.welcome}"' in text
    assert f'href="{shop.url}/ready"' in text
    systems = re.findall(r'data-system="(\w+)"( open)?', text)
    assert [name for name, _ in systems] == ["android", "apple", "windows", "macos", "linux", "own"]
    assert [name for name, opened in systems if opened] == ["android"]
    assert "full trust" in text


def test_the_certificate_comes_in_both_forms_and_as_what_it_is(shop: TlsServer) -> None:
    binary, text = at_the_door(shop, "/authority.crt"), at_the_door(shop, "/authority.pem")
    assert {binary.headers["content-type"], text.headers["content-type"]} == {CERTIFICATE}
    assert 'filename="clampbook-authority.crt"' in binary.headers["content-disposition"]
    der = x509.load_der_x509_certificate(binary.content)
    assert der == x509.load_pem_x509_certificate(text.content)
    assert der.extensions.get_extension_for_class(x509.BasicConstraints).value.ca


@pytest.mark.parametrize("path", ["/bench", "/plates", "/api/health", "/authority.key", "/a/../b"])
def test_everything_else_at_the_plain_door_leads_to_the_welcome_page(
    shop: TlsServer, path: str
) -> None:
    answer = at_the_door(shop, path, host="evil.test")
    assert (answer.status_code, answer.headers["location"]) == (307, "/")
    assert "set-cookie" not in answer.headers


def test_the_plain_door_has_its_style_and_takes_nothing(shop: TlsServer) -> None:
    assert at_the_door(shop, "/static/welcome.css").status_code == 200
    assert at_the_door(shop, "/static/bench.js").status_code == 404
    assert at_the_door(shop, "/static/..%2F..%2Ftemplates%2Fbase.html").status_code == 404
    assert at_the_door(shop, "/ready").headers["location"] == f"{shop.url}/ready"
    assert httpx.post(f"{shop.welcome}/sign-in", timeout=PATIENCE_S).status_code == 405


# starting and ending


def test_it_ends_within_seconds_and_starts_again_with_the_same_authority(tmp_path: Path) -> None:
    server = TlsServer(tmp_path / "shop").start()
    try:
        before = server.authority.read_bytes()
        asked = time.monotonic()
        assert server.stop() in {0, -signal.SIGTERM}
        assert time.monotonic() - asked < STOP_WITHIN_S
        server.start()
        assert server.authority_in("crt") == before
    finally:
        server.kill()


@pytest.fixture
def encrypted(monkeypatch: pytest.MonkeyPatch) -> int:
    """Encryption on, also for this machine; the port of the welcome page."""
    port = free_port()
    monkeypatch.setenv("CLAMPBOOK_TLS", "own")
    monkeypatch.setenv("CLAMPBOOK_WELCOME_PORT", str(port))
    return port


@pytest.mark.usefixtures("encrypted")
def test_a_damaged_authority_ends_the_start_with_one_sentence(run: Run, data: Path) -> None:
    (data / "keys").mkdir(parents=True)
    (data / "keys" / "authority.pem").write_text("scratched")
    result = run("serve", "--port", free_port())
    assert result.exit_code == 1
    assert "The shop's authority" in result.output
    assert "Traceback" not in result.output
    assert [path.name for path in data.iterdir()] == ["keys"]


def test_a_welcome_port_in_use_is_named_with_its_setting(run: Run, encrypted: int) -> None:
    with socket.create_server(("127.0.0.1", encrypted)):
        result = run("serve", "--port", free_port())
    assert result.exit_code == 1
    assert f"127.0.0.1:{encrypted}" in result.output
    assert "CLAMPBOOK_WELCOME_PORT" in result.output


def test_settings_that_do_not_fit_are_one_sentence(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CLAMPBOOK_TLS", "files")
    result = run("serve")
    assert result.exit_code == 1
    assert "do not fit together" in result.output
    assert "CLAMPBOOK_TLS_CERT" in result.output


# one's own certificate, one's own proxy


def test_a_certificate_of_one_s_own_sends_the_plain_door_straight_on(
    shop: TlsServer, tmp_path: Path
) -> None:
    leaf = shop.data / "keys" / "leaf.pem"
    more = {"CLAMPBOOK_TLS_CERT": str(leaf), "CLAMPBOOK_TLS_KEY": str(leaf)}
    with TlsServer(tmp_path / "other", tls="files", more=more) as other:
        door = httpx.get(f"{other.welcome}/plates", timeout=PATIENCE_S)
        assert (door.status_code, door.headers["location"]) == (307, f"{other.url}/plates")
        assert httpx.get(f"{other.welcome}/authority.crt", timeout=PATIENCE_S).is_redirect
        answer = httpx.get(
            f"https://localhost:{other.port}/api/health", verify=shop.trusting(), timeout=PATIENCE_S
        )
        assert answer.status_code == 200


@pytest.mark.parametrize(("proxy", "believed"), [("127.0.0.1", True), ("192.168.1.5", False)])
def test_https_is_believed_only_from_the_proxy(
    tmp_path: Path, proxy: str, *, believed: bool
) -> None:
    environment = {"CLAMPBOOK_TLS": "proxy", "CLAMPBOOK_PROXY_ADDRESS": proxy}
    with Server(tmp_path / "shop", environment=environment) as server:
        headers = {"X-Forwarded-Proto": "https", "X-Forwarded-For": "192.168.1.77"}
        answer = httpx.get(f"{server.url}/sign-in", headers=headers, timeout=PATIENCE_S)
        logged = server.log.read_text()
    (cookie,) = answer.headers.get_list("set-cookie")
    assert ("Secure" in cookie) is believed
    assert ("strict-transport-security" in answer.headers) is believed
    assert ("client=192.168.1.77" in logged) is believed
