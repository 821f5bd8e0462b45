"""PINs and passwords: argon2id, so that a stolen database does not give them away."""

from __future__ import annotations

from pwdlib import PasswordHash
from pwdlib.exceptions import UnknownHashError
from pwdlib.hashers.argon2 import Argon2Hasher

MEMORY_KIB = 19_456
ROUNDS = 2
LANES = 1


class ArgonPins:
    def __init__(self) -> None:
        hasher = Argon2Hasher(memory_cost=MEMORY_KIB, time_cost=ROUNDS, parallelism=LANES)
        self._hash = PasswordHash((hasher,))

    def hash(self, secret: str) -> str:
        return self._hash.hash(secret)

    def verify(self, secret: str, hashed: str) -> bool:
        try:
            return self._hash.verify(secret, hashed)
        except UnknownHashError:
            return False
