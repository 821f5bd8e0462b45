"""Certificates in use: renewed in time, read again when changed, and never replaced by worse."""

from __future__ import annotations

import datetime as dt
import ipaddress
import socket
import ssl
from dataclasses import dataclass, field
from pathlib import Path

import httpx
import pytest

from api.cli import connections
from api.domain.errors import Unavailable
from api.security.tls.certificates import make_authority, make_leaf, names_in
from api.security.tls.names import Names
from api.security.tls.served import OwnCertificate
from api.settings import Settings
from tests.security.served import serial, serving, shown, trusting
from tests.support.net import PATIENCE_S, wait_until

LASTS = dt.timedelta(days=90)
DAY = dt.timedelta(days=1)
TWO_MONTHS = 61 * DAY
SHOP = Names("clamp.test", ())


@dataclass
class Clock:
    now: dt.datetime = field(default_factory=lambda: dt.datetime.now(dt.UTC) - TWO_MONTHS)

    def __call__(self) -> dt.datetime:
        return self.now


@dataclass
class Network:
    names: Names = SHOP

    def __call__(self) -> Names:
        return self.names


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def own(tmp_path: Path, clock: Clock) -> OwnCertificate:
    made = OwnCertificate(tmp_path, make_authority(SHOP, clock.now), Network(), clock)
    assert made.prepare()
    made.take_up()
    return made


def test_a_leaf_is_renewed_when_a_third_of_its_life_is_left(
    own: OwnCertificate, clock: Clock
) -> None:
    first = serial(own.current())
    clock.now += 59 * DAY
    assert not own.prepare()
    clock.now += 1 * DAY
    assert own.prepare()
    assert serial(own.current()) != first
    assert not own.prepare()


def test_a_leaf_is_renewed_when_names_or_addresses_change(
    own: OwnCertificate, tmp_path: Path, clock: Clock
) -> None:
    moved = Network(Names("clamp.test", (ipaddress.ip_address("10.1.2.3"),)))
    again = OwnCertificate(tmp_path, own.authority, moved, clock)
    assert again.prepare()
    leaf = again.current()
    assert leaf is not None
    assert "10.1.2.3" in names_in(leaf)
    moved.names = Names("clamp.test", (ipaddress.ip_address("203.0.113.9"),))
    assert again.prepare()
    leaf = again.current()
    assert leaf is not None
    assert names_in(leaf) == ("clamp.test", "localhost", "127.0.0.1", "::1")


@pytest.mark.parametrize("content", [b"", b"no certificate"])
def test_a_damaged_leaf_is_issued_anew(own: OwnCertificate, content: bytes) -> None:
    own.leaf_file.write_bytes(content)
    assert own.prepare()
    own.take_up()


def test_a_leaf_of_another_authority_or_of_a_later_time_is_issued_anew(
    own: OwnCertificate, clock: Clock
) -> None:
    own.leaf_file.write_bytes(
        make_leaf(make_authority(SHOP, clock.now), SHOP, clock.now, LASTS).pem()
    )
    assert own.prepare()
    own.leaf_file.write_bytes(make_leaf(own.authority, SHOP, clock.now + 5 * DAY, LASTS).pem())
    assert own.prepare()


def test_a_folder_that_takes_nothing_is_told_and_the_leaf_stays(
    own: OwnCertificate, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    before = own.leaf_file.read_bytes()
    clock.now += 80 * DAY
    monkeypatch.setattr("api.security.tls.served.write_over", full)
    with pytest.raises(Unavailable, match="cannot be renewed"):
        own.prepare()
    assert own.leaf_file.read_bytes() == before


def test_a_running_server_shows_the_renewed_leaf_and_drops_no_connection(
    own: OwnCertificate, clock: Clock, tmp_path: Path
) -> None:
    """Its clock stands two months back at first, since its clients have the real time."""
    context = trusting(own.authority)
    with serving(own, Settings(data=tmp_path)) as port:
        first = shown(port, context)
        with httpx.Client(
            base_url=f"https://localhost:{port}", verify=context, timeout=PATIENCE_S
        ) as client:
            stream = client.get("/").extensions["network_stream"]
            clock.now += TWO_MONTHS
            wait_until(lambda: shown(port, context) != first, what="another leaf")
            again = client.get("/")
            assert again.json() == {"here": True}
            assert again.extensions["network_stream"].get_extra_info(
                "socket"
            ) == stream.get_extra_info("socket")
        assert shown(port, context) == serial(own.current())


def test_old_protocols_are_not_spoken(own: OwnCertificate, tmp_path: Path) -> None:
    old = trusting(own.authority)
    old.minimum_version = ssl.TLSVersion.TLSv1_2
    old.maximum_version = ssl.TLSVersion.TLSv1_2
    with serving(own, Settings(data=tmp_path)) as port:
        assert shown(port, old)
        assert own.context.minimum_version == ssl.TLSVersion.TLSv1_2


def test_a_connection_that_never_begins_its_handshake_is_given_up(
    own: OwnCertificate, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(connections, "LONGEST_HANDSHAKE_S", 0.1)
    with (
        serving(own, Settings(data=tmp_path)) as port,
        socket.create_connection(("127.0.0.1", port), PATIENCE_S) as silent,
    ):
        assert silent.recv(1) == b""
