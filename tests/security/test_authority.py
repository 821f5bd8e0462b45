"""The shop's authority and what it issues, read with another library's eyes and refused by them."""

from __future__ import annotations

import datetime as dt
import ipaddress
import socket
import ssl
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
)
from cryptography.x509.oid import ExtendedKeyUsageOID
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from api.domain.errors import Unavailable
from api.security.authority import canonical_origin, certificate_facts, open_certificate
from api.security.tls import certificates, names
from api.security.tls.certificates import Pair, make_authority, make_leaf, permits
from api.security.tls.names import Address, Names, machine_name, own_addresses
from api.security.tls.served import OwnCertificate
from api.settings import Settings

NOW = dt.datetime(2026, 11, 25, 8, tzinfo=dt.UTC)
LASTS = dt.timedelta(days=90)
INSIDE = ipaddress.ip_address("192.168.1.20")
OUTSIDE = ipaddress.ip_address("203.0.113.9")
SHOP = Names("clamp.test", (INSIDE,))


@pytest.fixture(scope="module")
def authority() -> Pair:
    return make_authority(SHOP, NOW)


def settings_for(data: Path, **more: object) -> Settings:
    return Settings.model_validate({"data": data, "host": "192.168.1.20", "tls": "own", **more})


def opened(settings: Settings, now: dt.datetime = NOW) -> OwnCertificate:
    made = open_certificate(settings, lambda: now)
    assert isinstance(made, OwnCertificate)
    return made


def verify(authority: Pair, leaf: x509.Certificate, name: str | Address) -> None:
    subject = x509.DNSName(name) if isinstance(name, str) else x509.IPAddress(name)
    store = Store([authority.certificate])
    builder = PolicyBuilder().store(store).time(NOW + dt.timedelta(days=30))
    builder.build_server_verifier(subject).verify(leaf, [])


def test_the_authority_is_small_long_lived_and_for_servers_of_the_shop_only(
    authority: Pair,
) -> None:
    found = authority.certificate.extensions
    basic = found.get_extension_for_class(x509.BasicConstraints)
    usage = found.get_extension_for_class(x509.KeyUsage)
    limits = found.get_extension_for_class(x509.NameConstraints)
    assert isinstance(authority.key.curve, ec.SECP256R1)
    assert (basic.critical, basic.value.ca, basic.value.path_length) == (True, True, 0)
    assert usage.critical and usage.value.key_cert_sign and not usage.value.digital_signature
    assert list(found.get_extension_for_class(x509.ExtendedKeyUsage).value) == [
        ExtendedKeyUsageOID.SERVER_AUTH
    ]
    assert limits.critical and limits.value.excluded_subtrees is None
    told = [str(general.value) for general in limits.value.permitted_subtrees or []]
    assert told[:2] == ["clamp.test", "localhost"]
    assert set(told[2:]) == {
        *("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "127.0.0.0/8", "169.254.0.0/16"),
        *("fc00::/7", "fe80::/10", "::1/128"),
    }
    lasts = authority.certificate.not_valid_after_utc - NOW
    assert 9.9 < lasts.days / 365.25 < 10.1
    assert "clamp.test" in authority.certificate.subject.rfc4514_string()


def test_an_address_outside_private_networks_is_permitted_exactly(authority: Pair) -> None:
    given = make_authority(Names("clamp.test", (OUTSIDE,)), NOW)
    assert permits(given.certificate, OUTSIDE)
    assert certificates.limits_of(given.certificate) == ("clamp.test", "localhost", str(OUTSIDE))
    assert not permits(given.certificate, ipaddress.ip_address("203.0.113.10"))
    assert not permits(authority.certificate, OUTSIDE)


@pytest.mark.parametrize("name", ["clamp.test", "localhost", INSIDE])
def test_a_leaf_is_verified_for_every_name_of_the_shop(
    authority: Pair, name: str | Address
) -> None:
    leaf = make_leaf(authority, SHOP, NOW, LASTS).certificate
    verify(authority, leaf, name)
    assert leaf.not_valid_after_utc - leaf.not_valid_before_utc <= certificates.LONGEST_LEAF


def test_no_leaf_outlives_what_browsers_take(authority: Pair) -> None:
    with pytest.raises(ValueError, match="at most 397 days"):
        make_leaf(authority, SHOP, NOW, dt.timedelta(days=397))


@pytest.mark.parametrize("name", ["bank.test", "other.clamp.example", OUTSIDE])
def test_a_leaf_for_a_foreign_name_is_neither_issued_nor_believed(
    authority: Pair, name: str | Address, monkeypatch: pytest.MonkeyPatch
) -> None:
    foreign = Names(name, ()) if isinstance(name, str) else Names("clamp.test", (name,))
    with pytest.raises(ValueError, match="not for"):
        make_leaf(authority, foreign, NOW, LASTS)
    monkeypatch.setattr(certificates, "permits", lambda *_: True)
    forged = make_leaf(authority, foreign, NOW, LASTS).certificate
    with pytest.raises(VerificationError):
        verify(authority, forged, name)


def test_openssl_refuses_a_handshake_with_a_forged_foreign_name(
    authority: Pair, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(certificates, "permits", lambda *_: True)
    for name, taken in (("clamp.test", True), ("bank.test", False)):
        now = dt.datetime.now(dt.UTC)
        file = tmp_path / "leaf.pem"
        file.write_bytes(make_leaf(authority, Names(name, ()), now, LASTS).pem())
        serving = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        serving.load_cert_chain(file)
        trusted = authority.certificate.public_bytes(Encoding.PEM).decode()
        asking = ssl.create_default_context(cadata=trusted)
        if taken:
            handshake(asking, serving, name)
        else:
            with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
                handshake(asking, serving, name)


def handshake(asking: ssl.SSLContext, serving: ssl.SSLContext, name: str) -> None:
    """A whole one, in memory."""
    up, down = ssl.MemoryBIO(), ssl.MemoryBIO()
    client = asking.wrap_bio(down, up, server_hostname=name)
    server = serving.wrap_bio(up, down, server_side=True)
    done = set[ssl.SSLObject]()
    while len(done) < 2:
        for side in (client, server):
            try:
                side.do_handshake()
                done.add(side)
            except ssl.SSLWantReadError:
                continue


def test_the_first_start_makes_private_files_and_a_second_one_keeps_them(tmp_path: Path) -> None:
    settings = settings_for(tmp_path, name="clamp.test")
    first = opened(settings)
    second = opened(settings)
    assert first.authority.certificate == second.authority.certificate
    assert first.current() == second.current()
    files = sorted(path.name for path in settings.keys.iterdir())
    assert files == ["authority.pem", "leaf.pem"]
    assert {path.stat().st_mode & 0o777 for path in settings.keys.iterdir()} == {0o600}
    assert settings.keys.stat().st_mode & 0o777 == 0o700


def test_the_name_is_that_of_the_machine_at_first_and_then_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("socket.gethostname", lambda: "Bench-PC")
    assert machine_name() == "bench-pc.local"
    settings = settings_for(tmp_path)
    opened(settings)
    monkeypatch.setattr("socket.gethostname", lambda: "renamed")
    opened(settings)
    assert canonical_origin(settings) == "https://bench-pc.local:8443"
    assert canonical_origin(settings_for(tmp_path, port=443)) == "https://bench-pc.local"


def test_an_address_can_be_the_one_name_and_is_remembered(tmp_path: Path) -> None:
    made = opened(settings_for(tmp_path, name="192.168.1.20"))
    assert canonical_origin(settings_for(tmp_path)) == "https://192.168.1.20:8443"
    leaf = made.current()
    assert leaf is not None
    verify(made.authority, leaf, INSIDE)


def test_another_name_than_the_authority_s_is_refused_with_both_named(tmp_path: Path) -> None:
    opened(settings_for(tmp_path, name="clamp.test"))
    with pytest.raises(Unavailable) as refused:
        opened(settings_for(tmp_path, name="other.test"))
    assert "made for clamp.test" in refused.value.message
    assert "vouch for other.test" in refused.value.message
    assert "--name clamp.test" in refused.value.message


def test_an_ended_authority_says_when_and_what_then(tmp_path: Path) -> None:
    opened(settings_for(tmp_path))
    with pytest.raises(Unavailable, match=r"ended on \d+ November 2036"):
        opened(settings_for(tmp_path), NOW + dt.timedelta(days=3700))


def rsa_pem() -> bytes:
    key = rsa.generate_private_key(65537, 2048)
    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())


@pytest.mark.parametrize(
    ("damage", "said"),
    [
        (lambda whole: b"", ""),
        (lambda whole: whole[: len(whole) // 2], ""),
        (lambda whole: whole[whole.index(b"-----BEGIN CERT") :], ""),
        (lambda whole: rsa_pem() + whole[whole.index(b"-----BEGIN CERT") :], "another kind of key"),
        (lambda whole: make_leaf(make_authority(SHOP, NOW), SHOP, NOW, LASTS).pem(), "authority"),
        (
            lambda whole: (
                make_authority(SHOP, NOW).pem().partition(b"-----BEGIN CERT")[0]
                + whole[whole.index(b"-----BEGIN CERT") :]
            ),
            "not that of the certificate",
        ),
    ],
    ids=["empty", "cut", "without key", "other key", "a leaf", "key of another"],
)
def test_a_damaged_authority_is_named_and_never_replaced(
    tmp_path: Path, damage: object, said: str
) -> None:
    settings = settings_for(tmp_path)
    opened(settings)
    path = settings.keys / "authority.pem"
    damaged = damage(path.read_bytes())  # type: ignore[operator]
    path.write_bytes(damaged)
    with pytest.raises(Unavailable) as refused:
        opened(settings)
    assert str(path) in refused.value.message
    assert said in refused.value.message
    assert "from a backup" in refused.value.message
    assert path.read_bytes() == damaged


def test_the_facts_tell_names_issuer_and_the_time_that_is_left(tmp_path: Path) -> None:
    settings = settings_for(tmp_path, name="clamp.test")
    assert certificate_facts(settings) is None
    made = opened(settings)
    facts = certificate_facts(settings, lambda: NOW + dt.timedelta(days=10))
    assert facts is not None
    assert (facts.kind, facts.issuer) == ("own", "Clampbook authority of clamp.test")
    assert facts.names[0] == "clamp.test" and "192.168.1.20" in facts.names
    assert facts.days_left == 80
    assert facts.authority_days_left == 3642
    assert facts.fingerprint == certificates.fingerprint(made.authority.certificate)
    assert certificate_facts(Settings(data=tmp_path)) is None


def test_a_server_on_every_address_names_those_it_has_and_one_on_loopback_none() -> None:
    assert own_addresses("192.168.1.20") == (INSIDE,)
    assert own_addresses("localhost") == ()
    assert not [one for one in own_addresses("") if one.is_loopback or one.is_link_local]


def test_an_interface_that_leads_nowhere_is_found_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """As on a shop's network without a way to the outside."""
    monkeypatch.setattr(names, "_towards", lambda *_: iter(()))
    monkeypatch.setattr(names, "_resolved", lambda *_: iter(()))
    assert ipaddress.ip_address("127.0.0.1") in list(names._on_interfaces())
    for address in names.own_addresses(""):
        with socket.socket() as probe:
            probe.bind((str(address), 0))  # refused for an address that is another machine's
