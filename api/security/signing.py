"""The shop's own signature: Ed25519, the private key in `keys/signing.pem`, public keys kept for good."""

from __future__ import annotations

import binascii
import hashlib
from base64 import b64decode, b64encode
from collections.abc import Iterable
from pathlib import Path

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_pem_private_key,
)

from api.domain.errors import Unavailable
from api.security.durable import write_new

KEY_FILE = "signing.pem"
PUBLIC_FILES = "signing-*.pub"


class ShopKey:
    """The key pair that signs; `public` is the raw public key in base64."""

    def __init__(self, private: Ed25519PrivateKey) -> None:
        self._private = private
        self.public = public_text(private.public_key())
        self.key_id = key_id_of(self.public)

    def sign(self, text: str) -> str:
        return b64encode(self._private.sign(text.encode())).decode()


class KnownKeys:
    """Public keys to compare with; what a dump states itself is taken only where it is all there is."""

    def __init__(self, folders: Iterable[Path], *, take_stated: bool) -> None:
        self.by_name = known_keys(folders)
        self.stated: dict[str, str] = {}
        self._take_stated = take_stated

    def state(self, public: str) -> None:
        name = key_id_of(public)
        if self._take_stated and name not in self.by_name:
            self.by_name[name] = self.stated[name] = public

    def signed(self, key_id: str, text: str, signature: str) -> bool | None:
        known = self.by_name.get(key_id)
        return None if known is None else signed(known, text, signature)


def load_or_make(folder: Path) -> ShopKey:
    """The key pair kept in `folder`, made there on first start, readable by its owner alone."""
    path = folder / KEY_FILE
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        if not path.exists():
            fresh = Ed25519PrivateKey.generate()
            pem = fresh.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
            write_new(path, pem)
        private = load_pem_private_key(path.read_bytes(), password=None)
    except (OSError, ValueError) as problem:
        raise Unavailable(
            f"The shop's signing key {path} cannot be read or made: {problem}. "
            "Restore the file from a backup; without it no checkpoint can be signed."
        ) from problem
    if not isinstance(private, Ed25519PrivateKey):
        raise Unavailable(f"{path} holds another kind of key; restore the file from a backup.")
    key = ShopKey(private)
    keep_public(folder, key.public)
    return key


def keep_public(folder: Path, public: str) -> None:
    """Puts the public key beside what it signed, where it stays when the key changes."""
    path = folder / f"signing-{key_id_of(public)}.pub"
    if not path.exists():
        write_new(path, f"{public}\n".encode())


def known_keys(folders: Iterable[Path]) -> dict[str, str]:
    """Public keys by name, from every `signing-*.pub` in the folders."""
    texts = [
        path.read_text(errors="replace").strip()
        for folder in folders
        for path in sorted(folder.glob(PUBLIC_FILES))
    ]
    return {key_id_of(text): text for text in texts if _raw(text) is not None}


def signed(public: str, text: str, signature: str) -> bool:
    """Whether the signature is this public key's over the text."""
    raw = _raw(public)
    if raw is None:
        return False
    try:
        Ed25519PublicKey.from_public_bytes(raw).verify(
            b64decode(signature, validate=True), text.encode()
        )
    except (InvalidSignature, ValueError, binascii.Error):
        return False
    return True


def public_text(key: Ed25519PublicKey) -> str:
    return b64encode(key.public_bytes(Encoding.Raw, PublicFormat.Raw)).decode()


def key_id_of(public: str) -> str:
    """The first 16 hexadecimal digits of the SHA-256 of the raw public key."""
    return hashlib.sha256(_raw(public) or b"").hexdigest()[:16]


def _raw(public: str) -> bytes | None:
    try:
        raw = b64decode(public, validate=True)
    except (binascii.Error, ValueError):
        return None
    return raw if len(raw) == 32 else None
