"""The shop's own authority, limited to the shop's names, and what it issues (RFC 5280)."""

from __future__ import annotations

import datetime as dt
import ipaddress
from dataclasses import dataclass
from typing import cast

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from api.security.tls.names import Address, Names, as_address

AUTHORITY_LASTS = dt.timedelta(days=3652)
LEAF_LASTS = dt.timedelta(days=90)
# Browsers refuse leaves that last longer.
LONGEST_LEAF = dt.timedelta(days=397)
# A tablet whose clock is behind takes a new certificate all the same.
EARLIER = dt.timedelta(days=1)
LONGEST_COMMON_NAME = 64
INSIDE = tuple(
    ipaddress.ip_network(network)
    for network in (
        *("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "127.0.0.0/8", "169.254.0.0/16"),
        *("fc00::/7", "fe80::/10", "::1/128"),
    )
)
Network = ipaddress.IPv4Network | ipaddress.IPv6Network


@dataclass(frozen=True)
class Pair:
    """A certificate and the private key that belongs to it."""

    key: ec.EllipticCurvePrivateKey
    certificate: x509.Certificate

    def pem(self) -> bytes:
        """Key, then certificate: one file, so that the two can never be of different age."""
        key = self.key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
        return key + self.certificate.public_bytes(Encoding.PEM)


def read_pair(content: bytes) -> Pair:
    """Raises `ValueError` unless it holds a P-256 key and the certificate of that key."""
    key = load_pem_private_key(content, password=None)
    if not isinstance(key, ec.EllipticCurvePrivateKey):
        raise ValueError("it holds another kind of key")
    certificate = x509.load_pem_x509_certificate(content)
    if certificate.public_key() != key.public_key():
        raise ValueError("the key in it is not that of the certificate")
    return Pair(key, certificate)


def make_authority(names: Names, now: dt.datetime) -> Pair:
    """For ten years, for servers only, for the shop's own host and private addresses only."""
    key = ec.generate_private_key(ec.SECP256R1())
    called = _called(f"Clampbook authority of {names.host}")
    builder = (
        _begun(called, called, key.public_key(), now, AUTHORITY_LASTS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs_certificates=True), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.NameConstraints(_permitted(names), None), critical=True)
    )
    return Pair(key, builder.sign(key, SHA256()))


def make_leaf(authority: Pair, names: Names, now: dt.datetime, lasts: dt.timedelta) -> Pair:
    """What the server shows, for all of `names`; raises `ValueError` for one that is not permitted."""
    if lasts + EARLIER > LONGEST_LEAF:
        raise ValueError(f"a leaf lasts at most {LONGEST_LEAF.days} days")
    for name in (*names.dns, *names.ips):
        if not permits(authority.certificate, name):
            raise ValueError(f"the authority is not for {name}")
    key = ec.generate_private_key(ec.SECP256R1())
    issuer = authority.certificate
    identifier = issuer.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    alternatives = x509.SubjectAlternativeName(
        [*map(x509.DNSName, names.dns), *map(x509.IPAddress, names.ips)]
    )
    builder = (
        _begun(_called(names.host), issuer.subject, key.public_key(), now, lasts)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(alternatives, critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(identifier),
            critical=False,
        )
    )
    return Pair(key, builder.sign(authority.key, SHA256()))


def permits(authority: x509.Certificate, name: str | Address) -> bool:
    """Whether the authority's constraints let it vouch for this name or address."""
    for general in _permitted_by(authority):
        if isinstance(general, x509.DNSName) and isinstance(name, str):
            if name == general.value or name.endswith(f".{general.value}"):
                return True
        elif (
            isinstance(general, x509.IPAddress)
            and not isinstance(name, str)
            and isinstance(general.value, Network)
            and name in general.value
        ):
            return True
    return False


def host_of_authority(authority: x509.Certificate) -> str:
    """The shop's host, for which it was made: what it permits first."""
    first = _permitted_by(authority)[0]
    if isinstance(first, x509.DNSName):
        return str(first.value)
    return str(cast(Network, first.value).network_address)


def limits_of(authority: x509.Certificate) -> tuple[str, ...]:
    """Names and single addresses that it permits beside the private networks."""
    return tuple(
        str(one.value) if isinstance(one, x509.DNSName) else str(one.value.network_address)
        for one in _permitted_by(authority)
        if one.value not in INSIDE
    )


def names_in(certificate: x509.Certificate) -> tuple[str, ...]:
    """Host names and addresses that the certificate is for."""
    try:
        found = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except x509.ExtensionNotFound:
        return ()
    dns = found.get_values_for_type(x509.DNSName)
    return (*dns, *map(str, found.get_values_for_type(x509.IPAddress)))


def is_for(certificate: x509.Certificate, host: str) -> bool:
    """Whether a browser takes it for this host; a star stands for one label."""
    wild = f"*.{host.partition('.')[2]}"
    address = as_address(host)
    wanted = {str(address)} if address else {host, wild}
    return any(name.lower() in wanted for name in names_in(certificate))


def fingerprint(certificate: x509.Certificate) -> str:
    """SHA-256 as systems show it: pairs of hexadecimal digits."""
    digits = certificate.fingerprint(SHA256()).hex().upper()
    return ":".join(digits[at : at + 2] for at in range(0, len(digits), 2))


def _permitted(names: Names) -> list[x509.GeneralName]:
    """The host first: a later start without a name finds it there again."""
    own = as_address(names.host)
    exact = [*([own] if own else []), *(one for one in names.addresses if not _is_inside(one))]
    networks = dict.fromkeys((*(ipaddress.ip_network(one) for one in exact), *INSIDE))
    dns = [x509.DNSName(name) for name in names.dns]
    ips = [x509.IPAddress(network) for network in networks]
    return [*ips[:1], *dns, *ips[1:]] if own else [*dns, *ips]


def _is_inside(address: Address) -> bool:
    return any(address in network for network in INSIDE)


def _permitted_by(authority: x509.Certificate) -> list[x509.GeneralName]:
    found = authority.extensions.get_extension_for_class(x509.NameConstraints).value
    return list(found.permitted_subtrees or [])


def _called(name: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name[:LONGEST_COMMON_NAME])])


def _begun(
    subject: x509.Name,
    issuer: x509.Name,
    public: ec.EllipticCurvePublicKey,
    now: dt.datetime,
    lasts: dt.timedelta,
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(public)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - EARLIER)
        .not_valid_after(now + lasts)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public), critical=False)
    )


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        encipher_only=False,
        decipher_only=False,
    )
