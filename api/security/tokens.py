"""Session tokens: random to their holder, only a digest to the database."""

from __future__ import annotations

import hashlib
import hmac
import secrets


class RandomTokens:
    def new(self) -> str:
        return secrets.token_urlsafe(32)

    def digest(self, token: str) -> str:
        return hashlib.sha256(token.encode(errors="replace")).hexdigest()


def form_token(session_token: str) -> str:
    """What a form of this session carries, so that another site cannot post it."""
    return hmac.new(session_token.encode(errors="replace"), b"form", hashlib.sha256).hexdigest()


def is_form_token(session_token: str, given: str) -> bool:
    return hmac.compare_digest(form_token(session_token).encode(), given.encode(errors="replace"))
