"""What stands in front of every route: limits on what comes in, headers on what goes out."""

from __future__ import annotations

import asyncio
import re

from fastapi import Request
from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.routes.problems import problem, respond

MOST_DEPTH = 32
MOST_BRACKETS = 10_000
MOST_SPILL_BYTES = 32_000_000
LONGEST_SPILL_S = 2.0
# A string, even one that never ends, or one bracket; possessive, so linear in any input.
_TOKENS = re.compile(rb'"(?:[^"\\]++|\\.?)*+(?:"|\Z)|[\[\]{}]', re.DOTALL)
DIRECTIVES = (
    "default-src 'none'",
    "script-src 'self'",
    "style-src 'self'",
    "img-src 'self' data:",
    "font-src 'self'",
    "connect-src 'self'",
    "manifest-src 'self'",
    "worker-src 'self'",
    "frame-ancestors 'none'",
    "form-action 'self'",
    "base-uri 'none'",
)
HEADERS = {
    "content-security-policy": "; ".join(DIRECTIVES),
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "x-frame-options": "DENY",
    "permissions-policy": "camera=(self), microphone=(), geolocation=(), payment=()",
}


class SecurityHeaders:
    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                if scope["path"].startswith("/api/"):
                    headers.setdefault("cache-control", "no-store")
            await send(message)

        await self.app(scope, receive, send_with_headers)


class BodyGuard:
    """Refuses a body that is too long before reading it all, and JSON that is nested too deep."""

    def __init__(self, app: ASGIApp, most_bytes: int) -> None:
        self.app = app
        self.most_bytes = most_bytes

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or scope["method"] in ("GET", "HEAD", "OPTIONS"):
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        length = headers.get("content-length", "")
        if length.isdigit() and int(length) > self.most_bytes:
            await self._too_long(scope, receive, send)
            return
        body = await self._read(receive)
        if body is None:
            await self._too_long(scope, receive, send)
        elif _is_json(headers) and is_too_deep(body):
            detail = f"The JSON is nested more than {MOST_DEPTH} deep, or has too many parts."
            await _refuse(scope, receive, send, 400, "too-deep", detail)
        else:
            await self.app(scope, _replay(body, receive), send)

    async def _read(self, receive: Receive) -> bytes | None:
        """The whole body; None as soon as it is longer than allowed."""
        parts, size, more = [], 0, True
        while more:
            message = await receive()
            if message["type"] != "http.request":
                break
            parts.append(message.get("body", b""))
            size += len(parts[-1])
            if size > self.most_bytes:
                return None
            more = message.get("more_body", False)
        return b"".join(parts)

    async def _too_long(self, scope: Scope, receive: Receive, send: Send) -> None:
        detail = f"The body is too long; at most {self.most_bytes} bytes are taken."
        if "expect" not in Headers(scope=scope):
            await _spill(receive)
        await _refuse(scope, receive, send, 413, "too-long", detail)


async def _spill(receive: Receive) -> None:
    """Throws away what is still coming, within bounds, so that the sender gets its answer.

    A connection closed with bytes unread is reset, and the reset overtakes the answer.
    """
    size = 0
    try:
        async with asyncio.timeout(LONGEST_SPILL_S):
            while size < MOST_SPILL_BYTES:
                message = await receive()
                size += len(message.get("body", b""))
                if message["type"] != "http.request" or not message.get("more_body", False):
                    return
    except TimeoutError:
        return


def is_too_deep(body: bytes) -> bool:
    """Whether brackets outside strings are nested too deep or are too many; without recursion."""
    depth = count = 0
    for found in _TOKENS.finditer(body):
        token = found.group()
        if token in b"[{":
            depth, count = depth + 1, count + 1
            if depth > MOST_DEPTH or count > MOST_BRACKETS:
                return True
        elif token in b"]}":
            depth -= 1
    return False


def _is_json(headers: Headers) -> bool:
    return "json" in headers.get("content-type", "json")


def _replay(body: bytes, receive: Receive) -> Receive:
    sent = False

    async def replayed() -> Message:
        nonlocal sent
        if sent:
            return await receive()
        sent = True
        return {"type": "http.request", "body": body, "more_body": False}

    return replayed


async def _refuse(
    scope: Scope, receive: Receive, send: Send, status: int, why: str, detail: str
) -> None:
    answer = respond(Request(scope), problem(status, why, detail), {"Connection": "close"})
    await answer(scope, receive, send)
