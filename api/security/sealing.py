"""Sealing PINs to the server: HPKE base mode, DHKEM(P-256), HKDF-SHA256, AES-128-GCM (RFC 9180)."""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hpke import AEAD, KDF, KEM, Suite
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_pem_private_key,
)

from api.domain.errors import BadInput, Unavailable

# The first key, those made later beside it, and the id of the one in use.
KEY_FILE = "sealing.pem"
CURRENT_FILE = "sealing.current"
SUITE = Suite(KEM.P256, KDF.HKDF_SHA256, AEAD.AES_128_GCM)


class KeyPair:
    """One key pair; `public` is the uncompressed point that tablets seal to."""

    def __init__(self, private: ec.EllipticCurvePrivateKey) -> None:
        self._private = private
        self.public = private.public_key().public_bytes(
            Encoding.X962, PublicFormat.UncompressedPoint
        )
        self.key_id = key_id_of(self.public)

    def open(self, sealed: bytes, info: bytes) -> bytes:
        try:
            return SUITE.decrypt(sealed, self._private, info=info)
        except (InvalidTag, ValueError):
            raise BadInput(
                "The sealed PIN does not belong to this signature; sign again."
            ) from None

    def seal(self, plain: bytes, info: bytes) -> bytes:
        return SUITE.encrypt(plain, self._private.public_key(), info=info)


class KeyRing:
    """The pair in use and those before it, so that what tablets sealed earlier still opens."""

    def __init__(self, folder: Path, current: KeyPair, older: Iterable[KeyPair] = ()) -> None:
        self._folder = folder
        self._current = current
        self._pairs = {one.key_id: one for one in (*older, current)}

    @property
    def key_id(self) -> str:
        return self._current.key_id

    @property
    def public(self) -> bytes:
        return self._current.public

    def open(self, key_id: str, sealed: bytes, info: bytes) -> bytes:
        """The plain text; raises `BadInput` when it was sealed to another key or for another use."""
        pair = self._pairs.get(key_id)
        if pair is None:
            raise BadInput("The PIN was sealed to a key this server does not have; sign again.")
        return pair.open(sealed, info)

    def seal(self, plain: bytes, info: bytes) -> bytes:
        return self._current.seal(plain, info)

    def make(self) -> str:
        """A new pair, on disk and able to open; tablets seal to it only after `use`."""
        private = ec.generate_private_key(ec.SECP256R1())
        pair = KeyPair(private)
        with _told(self._folder):
            _write_new(self._folder / f"sealing-{pair.key_id}.pem", _pem(private))
        self._pairs = {**self._pairs, pair.key_id: pair}
        return pair.key_id

    def use(self, key_id: str) -> None:
        with _told(self._folder):
            _replace(self._folder / CURRENT_FILE, f"{key_id}\n".encode())
        self._current = self._pairs[key_id]


class PublicKey:
    """What a tablet has: it can seal, and cannot open."""

    def __init__(self, public: bytes) -> None:
        self._key = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), public)
        self.key_id = key_id_of(public)

    def seal(self, plain: bytes, info: bytes) -> bytes:
        return SUITE.encrypt(plain, self._key, info=info)


def key_id_of(public: bytes) -> str:
    return hashlib.sha256(public).hexdigest()[:16]


def load_or_make(folder: Path) -> KeyRing:
    """The keys kept in `folder`; the first is made on first start, readable by its owner alone."""
    first, current = folder / KEY_FILE, folder / CURRENT_FILE
    with _told(folder):
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        if not first.exists():
            _write_new(first, _pem(ec.generate_private_key(ec.SECP256R1())))
        pairs = [_load(path) for path in (first, *sorted(folder.glob("sealing-*.pem")))]
        wanted = current.read_text().strip() if current.exists() else pairs[0].key_id
    used = next((one for one in pairs if one.key_id == wanted), None)
    if used is None:
        raise Unavailable(
            f"{current} names the sealing key {wanted[:40]!r}, and {folder} does not hold it. "
            "Restore the folder from a backup."
        )
    return KeyRing(folder, used, pairs)


def _load(path: Path) -> KeyPair:
    try:
        private = load_pem_private_key(path.read_bytes(), password=None)
    except (OSError, ValueError) as problem:
        raise Unavailable(
            f"The shop's sealing key {path} cannot be read: {problem}. "
            "Restore the file from a backup; without it offline signatures cannot be checked."
        ) from problem
    if not isinstance(private, ec.EllipticCurvePrivateKey):
        raise Unavailable(f"{path} holds another kind of key; restore the file from a backup.")
    return KeyPair(private)


@contextmanager
def _told(folder: Path) -> Iterator[None]:
    try:
        yield
    except (OSError, UnicodeDecodeError) as problem:
        raise Unavailable(
            f"The shop's sealing keys in {folder} cannot be read or made: {problem}. "
            "Free the disk or restore the folder from a backup, then try again."
        ) from problem


def _pem(private: ec.EllipticCurvePrivateKey) -> bytes:
    return private.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())


def _fresh(folder: Path, content: bytes) -> Path:
    """A file of another name with this content, which is on the disk."""
    descriptor, name = tempfile.mkstemp(dir=folder)
    with os.fdopen(descriptor, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    return Path(name)


def _write_new(path: Path, content: bytes) -> None:
    fresh = _fresh(path.parent, content)
    try:
        # A link fails if another process was first, so the key in use is never replaced.
        path.hardlink_to(fresh)
    except FileExistsError:
        pass
    finally:
        fresh.unlink()
    _settle(path.parent)


def _replace(path: Path, content: bytes) -> None:
    _fresh(path.parent, content).replace(path)
    _settle(path.parent)


def _settle(folder: Path) -> None:
    """A name is on the disk only once its folder is."""
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
