"""A certificate in use: its live context takes a newer one without the server noticing."""

from __future__ import annotations

import datetime as dt
import ssl
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    PublicFormat,
    load_pem_private_key,
)

from api.domain.errors import Unavailable
from api.security.durable import write_over
from api.security.tls.certificates import (
    LEAF_LASTS,
    Pair,
    is_for,
    make_leaf,
    names_in,
    permits,
    read_pair,
)
from api.security.tls.names import Names

LEAF_FILE = "leaf.pem"
RENEWED_WITH_LEFT = 1 / 3
PROTOCOLS = ["http/1.1"]
Clock = Callable[[], dt.datetime]


def new_context() -> ssl.SSLContext:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    context.options |= ssl.OP_NO_RENEGOTIATION
    context.set_alpn_protocols(PROTOCOLS)
    return context


@dataclass
class OwnCertificate:
    """Issued by the shop's authority for the names of the moment, and anew before it ends."""

    folder: Path
    authority: Pair
    names: Callable[[], Names]
    clock: Clock
    lasts: dt.timedelta = LEAF_LASTS
    context: ssl.SSLContext = field(default_factory=new_context)

    @property
    def leaf_file(self) -> Path:
        return self.folder / LEAF_FILE

    def prepare(self) -> bool:
        """Issue and keep a leaf if one is due; whether there is something to take up."""
        names = self._permitted_names()
        kept = self._kept()
        if kept is not None and not self._is_due(kept.certificate, names):
            return False
        try:
            leaf = make_leaf(self.authority, names, self.clock(), self.lasts)
            write_over(self.leaf_file, leaf.pem())
        except (OSError, ValueError) as problem:
            raise Unavailable(
                f"The certificate {self.leaf_file} cannot be renewed: {problem}. "
                "Correct the folder's rights, or free some space."
            ) from problem
        return True

    def take_up(self) -> None:
        """For connections from now on. On the thread that accepts them: a context is not locked."""
        self.context.load_cert_chain(self.leaf_file)

    def current(self) -> x509.Certificate | None:
        kept = self._kept()
        return kept.certificate if kept else None

    def _kept(self) -> Pair | None:
        """A damaged leaf counts as none: another one costs nothing."""
        try:
            return read_pair(self.leaf_file.read_bytes())
        except (OSError, ValueError, TypeError):
            return None

    def _is_due(self, leaf: x509.Certificate, names: Names) -> bool:
        ends, now = leaf.not_valid_after_utc, self.clock()
        return (
            ends - now <= self.lasts * RENEWED_WITH_LEFT
            or now < leaf.not_valid_before_utc
            or set(names_in(leaf)) != {*names.dns, *map(str, names.ips)}
            or not _is_issued_by(leaf, self.authority.certificate)
        )

    def _permitted_names(self) -> Names:
        """An address the machine has got since, outside of what was permitted, is left out."""
        names = self.names()
        certificate = self.authority.certificate
        return Names(names.host, tuple(one for one in names.addresses if permits(certificate, one)))


@dataclass
class FilesCertificate:
    """Brought by the shop; taken up again when the files have changed and fit together."""

    certificate: Path
    key: Path
    context: ssl.SSLContext = field(default_factory=new_context)
    _seen: tuple[object, ...] = ()

    def prepare(self) -> bool:
        """Whether the files are others than before; raises `Unavailable` if they cannot be used."""
        state = tuple(_state(path) for path in (self.certificate, self.key))
        if state == self._seen:
            return False
        self.current()
        self._check_key()
        try:
            new_context().load_cert_chain(self.certificate, self.key, "")
        except (OSError, ValueError) as problem:
            raise self._useless(problem) from problem
        self._seen = state
        return True

    def take_up(self) -> None:
        self.context.load_cert_chain(self.certificate, self.key, "")

    def current(self) -> x509.Certificate:
        try:
            return x509.load_pem_x509_certificate(self.certificate.read_bytes())
        except (OSError, ValueError) as problem:
            raise self._useless(problem) from problem

    def _check_key(self) -> None:
        try:
            key = load_pem_private_key(self.key.read_bytes(), password=None)
            if _public_bytes(key.public_key()) != _public_bytes(self.current().public_key()):
                raise ValueError(f"{self.key} is the key of another certificate")
        except TypeError as problem:
            raise self._useless("the key is locked by a password; store it without") from problem
        except (OSError, ValueError) as problem:
            raise self._useless(problem) from problem

    def _useless(self, problem: object) -> Unavailable:
        return Unavailable(
            f"The certificate {self.certificate} with the key {self.key} cannot be used: {problem}. "
            "Both files are PEM; the shop's own certificate stands first, those above it follow."
        )


def checked_host(certificate: x509.Certificate, wanted: str) -> str:
    """The host of an origin under this certificate: the one that is wanted, else its first name."""
    names = [name for name in names_in(certificate) if not name.startswith("*")]
    host = wanted or (names[0].lower() if names else "")
    if not host or not is_for(certificate, host):
        told = ", ".join(names_in(certificate)) or "no name at all"
        raise Unavailable(
            f"The certificate is for {told}, not for {host or 'one host'}. "
            "Give one of its names with CLAMPBOOK_NAME or --name."
        )
    return host


def _state(path: Path) -> object:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size, found.st_ino


def _is_issued_by(leaf: x509.Certificate, authority: x509.Certificate) -> bool:
    try:
        leaf.verify_directly_issued_by(authority)
    except Exception:  # noqa: BLE001 - whatever is wrong with it, another is issued
        return False
    return True


def _public_bytes(key: object) -> bytes:
    return key.public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)  # type: ignore[attr-defined,no-any-return]
