"""Tablets' keys: ECDSA P-256 with SHA-256, as a browser makes and uses them; nonces that last a minute."""

from __future__ import annotations

import binascii
import hashlib
import hmac
import secrets
import time
from base64 import b64decode, b64encode
from functools import lru_cache
from threading import Lock

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import (
    decode_dss_signature,
    encode_dss_signature,
)
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

CURVE = ec.SECP256R1()
POINT_BYTES = 65
HALF_BYTES = 32
NONCE_S = 60.0
ALGORITHM = ec.ECDSA(SHA256())


class TabletKeys:
    """Checks what tablets sign, and hands out nonces that are good once, here and now.

    The key that stamps nonces lives as long as the process: a nonce of an earlier one is stale.
    """

    def __init__(self) -> None:
        self._stamp = secrets.token_bytes(32)
        self._used: dict[str, float] = {}
        self._lock = Lock()

    def signed(self, key: str, text: str, signature: str) -> bool:
        public, plain = _loaded(key), _bytes(signature, 2 * HALF_BYTES)
        if public is None or plain is None:
            return False
        r, s = int.from_bytes(plain[:HALF_BYTES]), int.from_bytes(plain[HALF_BYTES:])
        try:
            public.verify(encode_dss_signature(r, s), text.encode(), ALGORITHM)
        except InvalidSignature:
            return False
        return True

    def nonce(self, tablet: str) -> str:
        ends = f"{time.monotonic() + NONCE_S:.3f}"
        token = secrets.token_hex(16)
        return f"{ends}-{token}-{self._seal(ends, token, tablet)}"

    def use_nonce(self, nonce: str, tablet: str) -> bool:
        """Whether it was handed out to this tablet within the last minute and not used since."""
        ends, _, rest = nonce.partition("-")
        token, _, seal = rest.partition("-")
        if not hmac.compare_digest(seal.encode(), self._seal(ends, token, tablet).encode()):
            return False
        now = time.monotonic()
        with self._lock:
            self._used = {one: end for one, end in self._used.items() if end > now}
            if float(ends) <= now or token in self._used:
                return False
            self._used[token] = float(ends)
        return True

    def _seal(self, ends: str, token: str, tablet: str) -> str:
        told = f"{ends} {token} {tablet}".encode()
        return hmac.new(self._stamp, told, hashlib.sha256).hexdigest()


class TabletKey:
    """A tablet's own pair, for the tablets of the demonstration and of the tests."""

    def __init__(self, private: ec.EllipticCurvePrivateKey | None = None) -> None:
        self._private = private or ec.generate_private_key(CURVE)
        point = self._private.public_key().public_bytes(
            Encoding.X962, PublicFormat.UncompressedPoint
        )
        self.public = b64encode(point).decode()

    def sign(self, text: str) -> str:
        """Raw r and s, 32 bytes each, in base64."""
        r, s = decode_dss_signature(self._private.sign(text.encode(), ALGORITHM))
        return b64encode(r.to_bytes(HALF_BYTES) + s.to_bytes(HALF_BYTES)).decode()


@lru_cache(maxsize=256)
def _loaded(key: str) -> ec.EllipticCurvePublicKey | None:
    point = _bytes(key, POINT_BYTES)
    if point is None:
        return None
    try:
        return ec.EllipticCurvePublicKey.from_encoded_point(CURVE, point)
    except ValueError:
        return None


def _bytes(text: str, length: int) -> bytes | None:
    """What the base64 text stands for, if it is written as it should be and has this length."""
    try:
        plain = b64decode(text, validate=True)
    except (binascii.Error, ValueError):
        return None
    return plain if len(plain) == length and b64encode(plain).decode() == text else None
