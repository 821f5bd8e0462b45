"""Session tokens: random to their holder, only a digest to the database."""

from __future__ import annotations

import hashlib
import secrets


class RandomTokens:
    def new(self) -> str:
        return secrets.token_urlsafe(32)

    def digest(self, token: str) -> str:
        return hashlib.sha256(token.encode(errors="replace")).hexdigest()
