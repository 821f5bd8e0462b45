"""The certificate that this shop shows: its own authority's, one it was given, or none."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, Protocol

from cryptography import x509
from cryptography.x509.oid import NameOID

from api.domain.errors import Unavailable
from api.security.durable import write_new
from api.security.tls.certificates import (
    LEAF_LASTS,
    Pair,
    fingerprint,
    host_of_authority,
    make_authority,
    names_in,
    permits,
    read_pair,
)
from api.security.tls.names import Names, as_address, machine_name, origin, own_addresses
from api.security.tls.served import Clock, FilesCertificate, OwnCertificate, checked_host

AUTHORITY_FILE = "authority.pem"
Certificate = OwnCertificate | FilesCertificate


class TlsSettings(Protocol):
    """What of the settings is asked for here."""

    @property
    def keys(self) -> Path: ...
    @property
    def host(self) -> str: ...
    @property
    def port(self) -> int: ...
    @property
    def name(self) -> str: ...
    @property
    def welcome_port(self) -> int: ...
    @property
    def tls_kind(self) -> Literal["own", "files", "proxy", "none"]: ...
    @property
    def tls_cert(self) -> Path | None: ...
    @property
    def tls_key(self) -> Path | None: ...


@dataclass(frozen=True)
class CertificateFacts:
    """The state of the certificate, for whoever looks after the shop."""

    kind: Literal["own", "files"]
    names: tuple[str, ...]
    issuer: str
    fingerprint: str
    ends: dt.datetime
    days_left: float
    authority_days_left: float | None = None


def now_utc() -> dt.datetime:
    return dt.datetime.now(dt.UTC)


def open_certificate(
    settings: TlsSettings, clock: Clock = now_utc, lasts: dt.timedelta = LEAF_LASTS
) -> Certificate | None:
    """The certificate to serve with, made or read and ready in its context; None without https."""
    made: Certificate
    if settings.tls_kind == "own":
        made = _own(settings, clock, lasts)
    elif settings.tls_kind == "files":
        made = _files(settings)
        checked_host(made.current(), settings.name)
    else:
        return None
    made.prepare()
    try:
        made.take_up()
    except OSError as problem:
        raise Unavailable(f"The certificate cannot be taken up: {problem}.") from problem
    return made


def canonical_origin(settings: TlsSettings) -> str:
    """The one origin under which browsers keep what is the shop's; empty where any will do."""
    host = canonical_host(settings)
    return origin("https", host, settings.port) if host else ""


def welcome_origin(settings: TlsSettings) -> str:
    """Where a new device gets the certificate: by address, which needs neither a name service nor trust."""
    if settings.tls_kind != "own" or not settings.welcome_port:
        return ""
    addresses = own_addresses(settings.host)
    host = str(addresses[0]) if addresses else canonical_host(settings)
    return origin("http", host, settings.welcome_port)


def canonical_host(settings: TlsSettings) -> str:
    """The name that is set, else the one the certificate was made for, else the machine's."""
    if settings.tls_kind == "files":
        return checked_host(_files(settings).current(), settings.name)
    if settings.tls_kind != "own":
        return ""
    return _own_host(settings, _kept_authority(settings.keys))


def certificate_facts(settings: TlsSettings, clock: Clock = now_utc) -> CertificateFacts | None:
    """What is kept now; None without https and before the first start. Makes nothing."""
    if settings.tls_kind == "files":
        return _facts("files", _files(settings).current(), None, clock())
    authority = _kept_authority(settings.keys) if settings.tls_kind == "own" else None
    if authority is None:
        return None
    own = OwnCertificate(settings.keys, authority, lambda: Names("", ()), clock)
    leaf = own.current()
    return _facts("own", leaf, authority.certificate, clock()) if leaf else None


def load_authority(folder: Path, names: Names, now: dt.datetime) -> Pair:
    """The authority kept in `folder`, made there on first start, readable by its owner alone."""
    path = folder / AUTHORITY_FILE
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        if not path.exists():
            write_new(path, make_authority(names, now).pem())
    except (OSError, ValueError) as problem:
        raise Unavailable(
            f"The shop's authority {path} cannot be made: {problem}. Correct the folder's rights."
        ) from problem
    kept = _kept_authority(folder)
    if kept is None:
        raise Unavailable(f"The shop's authority {path} is gone again. Start once more.")
    return kept


def _own(settings: TlsSettings, clock: Clock, lasts: dt.timedelta) -> OwnCertificate:
    host = _own_host(settings, _kept_authority(settings.keys))

    def names() -> Names:
        return Names(host, own_addresses(settings.host))

    authority = load_authority(settings.keys, names(), clock())
    _refuse_others(authority.certificate, settings, host)
    if authority.certificate.not_valid_after_utc <= clock():
        raise Unavailable(
            f"The shop's authority ended on {authority.certificate.not_valid_after_utc:%d %B %Y}. "
            + _anew(settings)
        )
    return OwnCertificate(settings.keys, authority, names, clock, lasts)


def _own_host(settings: TlsSettings, kept: Pair | None) -> str:
    return settings.name or (host_of_authority(kept.certificate) if kept else machine_name())


def _refuse_others(authority: x509.Certificate, settings: TlsSettings, host: str) -> None:
    """The authority vouches for nothing else, and tablets trust no other one."""
    given = as_address(settings.host)
    asked = [as_address(host) or host]
    if given is not None and not given.is_unspecified:
        asked.append(given)
    for name in asked:
        if not permits(authority, name):
            raise Unavailable(
                f"The shop's authority was made for {host_of_authority(authority)} and may not "
                f"vouch for {name}. Start with --name {host_of_authority(authority)}. "
                + _anew(settings)
            )


def _anew(settings: TlsSettings) -> str:
    return (
        f"For a new authority move {settings.keys / AUTHORITY_FILE} away and start again; "
        "every tablet then has to trust the new one."
    )


def _kept_authority(folder: Path) -> Pair | None:
    path = folder / AUTHORITY_FILE
    try:
        pair = read_pair(path.read_bytes())
        if not _is_authority(pair.certificate):
            raise ValueError("it is not the certificate of an authority with constraints")
    except FileNotFoundError:
        return None
    except (OSError, ValueError, TypeError) as problem:
        raise Unavailable(
            f"The shop's authority {path} cannot be read: {problem}. "
            "Restore the file from a backup, or move it away for a new one that every tablet "
            "then has to trust."
        ) from problem
    return pair


def _is_authority(certificate: x509.Certificate) -> bool:
    found = certificate.extensions
    try:
        constraints = found.get_extension_for_class(x509.NameConstraints).value
        return found.get_extension_for_class(x509.BasicConstraints).value.ca and bool(
            constraints.permitted_subtrees
        )
    except x509.ExtensionNotFound:
        return False


def _files(settings: TlsSettings) -> FilesCertificate:
    if settings.tls_cert is None or settings.tls_key is None:
        raise Unavailable("CLAMPBOOK_TLS_CERT and CLAMPBOOK_TLS_KEY name the certificate's files.")
    return FilesCertificate(settings.tls_cert, settings.tls_key)


def _facts(
    kind: Literal["own", "files"],
    leaf: x509.Certificate,
    authority: x509.Certificate | None,
    now: dt.datetime,
) -> CertificateFacts:
    issuer = leaf.issuer.get_attributes_for_oid(NameOID.COMMON_NAME)
    return CertificateFacts(
        kind,
        names_in(leaf),
        str(issuer[0].value) if issuer else leaf.issuer.rfc4514_string(),
        fingerprint(leaf if authority is None else authority),
        leaf.not_valid_after_utc,
        _days(leaf.not_valid_after_utc - now),
        _days(authority.not_valid_after_utc - now) if authority else None,
    )


def _days(left: dt.timedelta) -> float:
    return left / dt.timedelta(days=1)
