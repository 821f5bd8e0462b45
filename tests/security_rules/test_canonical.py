"""Where the shop has one address: other names are sent there, and never change anything."""

from __future__ import annotations

import pytest

from api.routes.guards.canonical import CanonicalOrigin
from tests.security_rules.plain_app import Echo, part, played, scope_of, status_of

ORIGIN = "https://shop.test:8443"


def asked(method: str, host: str, path: str = "/plates") -> tuple[int | None, str]:
    guard = CanonicalOrigin(Echo(), ORIGIN)
    sent = played(guard, scope_of(path, method, host=host), [part(b"", more=False)])
    headers = dict(sent[0]["headers"])
    return status_of(sent), headers.get(b"location", b"").decode()


def test_another_name_is_sent_on_to_the_shops_own_by_reading_alone() -> None:
    assert asked("GET", "elsewhere.test") == (308, f"{ORIGIN}/plates")
    assert asked("GET", "192.168.1.5:8443") == (308, f"{ORIGIN}/plates")
    for method in ("POST", "PUT", "DELETE", "FOO"):
        assert asked(method, "elsewhere.test") == (421, "")


@pytest.mark.parametrize(
    "host", ["shop.test:8443", "SHOP.test:8443", "localhost", "localhost:8000"]
)
def test_the_shops_own_name_and_this_machine_are_let_through(host: str) -> None:
    assert asked("POST", host) == (200, "")


@pytest.mark.parametrize(
    "host",
    ["", "shop.test", "shop.test:8443@elsewhere.test", "shop.test:8443/x", "shop.test:x", "[::1"],
)
def test_what_only_looks_like_the_name_is_not_it(host: str) -> None:
    assert asked("POST", host) == (421, "")


def test_nothing_of_a_request_reaches_the_name_it_is_sent_to() -> None:
    for path in ("//elsewhere.test/", "/\\elsewhere.test", "@elsewhere.test/", ".elsewhere.test/"):
        status, target = asked("GET", "other.test", path)
        assert status == 308
        assert target.startswith(f"{ORIGIN}/")
