"""Sealing PINs to the server: HPKE base mode, DHKEM(P-256), HKDF-SHA256, AES-128-GCM (RFC 9180)."""

from __future__ import annotations

import hashlib
import os
import tempfile
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

KEY_FILE = "sealing.pem"
SUITE = Suite(KEM.P256, KDF.HKDF_SHA256, AEAD.AES_128_GCM)


class KeyPair:
    """The server's key pair; `public` is the uncompressed point that tablets seal to."""

    def __init__(self, private: ec.EllipticCurvePrivateKey) -> None:
        self._private = private
        self.public = private.public_key().public_bytes(
            Encoding.X962, PublicFormat.UncompressedPoint
        )
        self.key_id = key_id_of(self.public)

    def open(self, key_id: str, sealed: bytes, info: bytes) -> bytes:
        """The plain text; raises `BadInput` when it was sealed to another key or for another use."""
        if key_id != self.key_id:
            raise BadInput("The PIN was sealed to a key this server does not have; sign again.")
        try:
            return SUITE.decrypt(sealed, self._private, info=info)
        except (InvalidTag, ValueError):
            raise BadInput(
                "The sealed PIN does not belong to this signature; sign again."
            ) from None

    def seal(self, plain: bytes, info: bytes) -> bytes:
        return SUITE.encrypt(plain, self._private.public_key(), info=info)


class PublicKey:
    """What a tablet has: it can seal, and cannot open."""

    def __init__(self, public: bytes) -> None:
        self._key = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), public)
        self.key_id = key_id_of(public)

    def seal(self, plain: bytes, info: bytes) -> bytes:
        return SUITE.encrypt(plain, self._key, info=info)


def key_id_of(public: bytes) -> str:
    return hashlib.sha256(public).hexdigest()[:16]


def load_or_make(folder: Path) -> KeyPair:
    """The key pair kept in `folder`, made there on first start, readable by its owner alone."""
    path = folder / KEY_FILE
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        if not path.exists():
            _write_new(path)
        private = load_pem_private_key(path.read_bytes(), password=None)
    except (OSError, ValueError) as problem:
        raise Unavailable(
            f"The shop's sealing key {path} cannot be read or made: {problem}. "
            "Restore the file from a backup; without it offline signatures cannot be checked."
        ) from problem
    if not isinstance(private, ec.EllipticCurvePrivateKey):
        raise Unavailable(f"{path} holds another kind of key; restore the file from a backup.")
    return KeyPair(private)


def _write_new(path: Path) -> None:
    pem = ec.generate_private_key(ec.SECP256R1()).private_bytes(
        Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()
    )
    descriptor, name = tempfile.mkstemp(dir=path.parent)
    fresh = Path(name)
    with os.fdopen(descriptor, "wb") as file:
        file.write(pem)
        file.flush()
        os.fsync(file.fileno())
    try:
        # A link fails if another process was first, so the key in use is never replaced.
        path.hardlink_to(fresh)
    except FileExistsError:
        pass
    finally:
        fresh.unlink()
