"""The office's own key: with it the server signs what a lead records at the desk."""

from __future__ import annotations

import hashlib
import secrets
import time
import uuid
from base64 import b64decode
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)

from api.domain.errors import Unavailable
from api.security.durable import write_new
from api.security.tablet_keys import CURVE, TabletKey

KEY_FILE = "office.pem"
ID_HEX = 12


class OfficeKey:
    """Names itself after its key, so that a new key is another tablet to everybody who checks."""

    def __init__(self, private: ec.EllipticCurvePrivateKey) -> None:
        self._pair = TabletKey(private)
        self._woken = time.monotonic()
        point = b64decode(self._pair.public)
        self.tablet = f"office-{hashlib.sha256(point).hexdigest()[:ID_HEX]}"

    @property
    def public(self) -> str:
        return self._pair.public

    def sign(self, text: str) -> str:
        return self._pair.sign(text)

    def elapsed_ms(self) -> float:
        """Since this process took up the key; never runs backwards."""
        return round((time.monotonic() - self._woken) * 1000, 1)

    def new_id(self, at_ms: int) -> str:
        """A UUID of version 7: the moment first, then chance."""
        value = (at_ms & (1 << 48) - 1) << 80 | 7 << 76 | secrets.randbits(12) << 64
        return str(uuid.UUID(int=value | 2 << 62 | secrets.randbits(62)))


def load_office_key(folder: Path) -> OfficeKey:
    """The key kept in `folder`, made there on first start, readable by its owner alone."""
    path = folder / KEY_FILE
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        if not path.exists():
            write_new(path, _pem(ec.generate_private_key(CURVE)))
        private = load_pem_private_key(path.read_bytes(), password=None)
    except (OSError, ValueError) as problem:
        raise Unavailable(
            f"The office's key {path} cannot be read or made: {problem}. Restore the file from a "
            "backup, or take it away: the office then goes on under a new key."
        ) from problem
    if not isinstance(private, ec.EllipticCurvePrivateKey) or private.curve.name != CURVE.name:
        raise Unavailable(f"{path} holds another kind of key; restore the file from a backup.")
    return OfficeKey(private)


def _pem(private: ec.EllipticCurvePrivateKey) -> bytes:
    return private.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
