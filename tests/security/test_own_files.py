"""A certificate that the shop brings: taken up when it changes, and never in halves."""

from __future__ import annotations

import datetime as dt
import shutil
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    PrivateFormat,
)

from api.domain.errors import Unavailable
from api.security.authority import canonical_origin, certificate_facts, open_certificate
from api.security.tls.certificates import Pair, make_authority, make_leaf
from api.security.tls.names import Names
from api.security.tls.served import FilesCertificate
from api.settings import Settings
from tests.security.served import serial, serving, shown, trusting
from tests.support.net import wait_until

LASTS = dt.timedelta(days=90)
SHOP = Names("clamp.test", ())
EVERYWHERE = "0.0.0.0"  # noqa: S104


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
