"""Certificates in use: renewed in time, read again when changed, and never replaced by worse."""

from __future__ import annotations

import datetime as dt
import ipaddress
import shutil
import socket
import ssl
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import httpx
import pytest
import uvicorn
from cryptography import x509
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    PrivateFormat,
)
from fastapi import FastAPI

from api.cli import connections
from api.cli.network import config_of
from api.domain.errors import Unavailable
from api.security.authority import (
    Certificate,
    canonical_origin,
    certificate_facts,
    open_certificate,
)
from api.security.tls.certificates import Pair, make_authority, make_leaf, names_in
from api.security.tls.names import Names
from api.security.tls.served import FilesCertificate, OwnCertificate
from api.settings import Settings
from tests.support.net import PATIENCE_S, wait_until

LASTS = dt.timedelta(days=90)
DAY = dt.timedelta(days=1)
TWO_MONTHS = 61 * DAY
SHOP = Names("clamp.test", ())
EVERYWHERE = "0.0.0.0"  # noqa: S104


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


def serial(certificate: x509.Certificate | None) -> int:
    assert certificate is not None
    return certificate.serial_number


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


# under a running server


@contextmanager
def serving(certificate: Certificate, settings: Settings) -> Iterator[int]:
    """A small application behind the server's own configuration, looking ever so often."""
    app = FastAPI()
    app.get("/")(lambda: {"here": True})
    listener = socket.create_server(("127.0.0.1", 0))
    config = config_of(app, settings, certificate, look_every_s=0.05)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
    thread.start()
    try:
        wait_until(lambda: server.started, what="start")
        yield listener.getsockname()[1]
    finally:
        server.should_exit = True
        thread.join(PATIENCE_S)
        listener.close()


def trusting(authority: Pair) -> ssl.SSLContext:
    made = ssl.create_default_context()
    made.load_verify_locations(cadata=authority.certificate.public_bytes(Encoding.PEM).decode())
    return made


def shown(port: int, context: ssl.SSLContext) -> int:
    """The serial number of the leaf that a new connection is shown, verified."""
    with (
        socket.create_connection(("127.0.0.1", port), PATIENCE_S) as plain,
        context.wrap_socket(plain, server_hostname="clamp.test") as encrypted,
    ):
        der = encrypted.getpeercert(binary_form=True)
    assert der is not None
    return x509.load_der_x509_certificate(der).serial_number


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


# brought by the shop


@dataclass
class Files:
    """A certificate of another authority, in two files."""

    folder: Path
    issuer: Pair = field(default_factory=lambda: make_authority(SHOP, dt.datetime.now(dt.UTC)))

    @property
    def certificate(self) -> Path:
        return self.folder / "shop.crt"

    @property
    def key(self) -> Path:
        return self.folder / "shop.key"

    def write(self, *, password: bytes = b"") -> Pair:
        leaf = make_leaf(self.issuer, SHOP, dt.datetime.now(dt.UTC), LASTS)
        key, _, certificate = leaf.pem().partition(b"-----BEGIN CERT")
        if password:
            locked = BestAvailableEncryption(password)
            key = leaf.key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, locked)
        self.key.write_bytes(key)
        self.certificate.write_bytes(b"-----BEGIN CERT" + certificate)
        return leaf

    def settings(self, **more: object) -> Settings:
        given = {"tls_cert": self.certificate, "tls_key": self.key, "host": EVERYWHERE, **more}
        return Settings.model_validate({"data": self.folder, **given})


@pytest.fixture
def files(tmp_path: Path) -> Files:
    made = Files(tmp_path)
    made.write()
    return made


def test_files_are_served_and_taken_up_again_when_they_change(files: Files) -> None:
    certificate = open_certificate(files.settings())
    assert isinstance(certificate, FilesCertificate)
    context = trusting(files.issuer)
    with serving(certificate, files.settings()) as port:
        first = shown(port, context)
        assert first == serial(certificate.current())
        later = files.write()
        wait_until(lambda: shown(port, context) != first, what="the new certificate")
        assert shown(port, context) == serial(later.certificate)


def test_half_changed_files_leave_the_old_certificate_in_use(
    files: Files, caplog: pytest.LogCaptureFixture
) -> None:
    certificate = open_certificate(files.settings())
    assert certificate is not None
    context = trusting(files.issuer)
    with serving(certificate, files.settings()) as port:
        first = shown(port, context)
        key = files.key.read_bytes()
        files.write()
        later = files.key.read_bytes()
        files.key.write_bytes(key)
        wait_until(lambda: "stays as it is" in caplog.text, what="a warning")
        assert shown(port, context) == first
        files.key.write_bytes(later)
        wait_until(lambda: shown(port, context) != first, what="the new certificate")


def test_files_that_cannot_be_used_are_named_with_the_reason(files: Files) -> None:
    def refused() -> str:
        with pytest.raises(Unavailable) as said:
            open_certificate(files.settings())
        assert str(files.certificate) in said.value.message
        return said.value.message

    files.write(password=b"secret")
    assert "without" in refused()
    shutil.copy(files.certificate, files.key)
    refused()
    files.write()
    files.certificate.write_bytes(b"nothing")
    refused()
    files.write()
    files.key.write_bytes(files.issuer.pem())
    assert "key of another certificate" in refused()
    files.key.unlink()
    assert "No such file" in refused()


def test_the_origin_is_a_name_of_the_certificate_and_no_other(files: Files) -> None:
    assert canonical_origin(files.settings()) == "https://clamp.test:8443"
    assert canonical_origin(files.settings(name="localhost")) == "https://localhost:8443"
    with pytest.raises(Unavailable, match=r"for clamp.test, localhost, .*, not for other.test"):
        open_certificate(files.settings(name="other.test"))
    facts = certificate_facts(files.settings())
    assert facts is not None
    assert (facts.kind, facts.authority_days_left) == ("files", None)
    assert 89 < facts.days_left <= 90
