"""Comparing PINs for the demonstration: every one really, but each pair of PIN and hash once."""

from __future__ import annotations

from api.use_cases.ports import PinKeeper


class Remembering:
    """Hashing is slow on purpose; the same few people sign hundreds of past setups."""

    def __init__(self, pins: PinKeeper) -> None:
        self._pins = pins
        self._known: dict[tuple[str, str], bool] = {}

    def hash(self, secret: str) -> str:
        return self._pins.hash(secret)

    def verify(self, secret: str, hashed: str) -> bool:
        key = (secret, hashed)
        if key not in self._known:
            self._known[key] = self._pins.verify(secret, hashed)
        return self._known[key]
