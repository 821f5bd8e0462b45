"""Refuses a body that is too long, too slow or nested too deep, before a route sees any of it."""

from __future__ import annotations

import asyncio
import re

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.routes.guards.refusing import changes, refuse

MOST_DEPTH = 32
MOST_BRACKETS = 10_000
LONGEST_BODY_S = 60.0
# A string, even one that never ends, or one bracket; possessive, so linear in any input.
_TOKENS = re.compile(rb'"(?:[^"\\]++|\\.?)*+(?:"|\Z)|[\[\]{}]', re.DOTALL)


class _TooLong(Exception):
    """More came than is taken."""


class _Gone(Exception):
    """The sender went away in the middle; half a body is none."""


class BodyGuard:
    def __init__(self, app: ASGIApp, most_bytes: int, longest_s: float = LONGEST_BODY_S) -> None:
        self.app = app
        self.most_bytes = most_bytes
        self.longest_s = longest_s

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if not changes(scope):
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        try:
            body = await self._body(headers, receive)
        except _TooLong:
            await self._too_long(scope, receive, send)
        except TimeoutError:
            detail = f"The body took more than {self.longest_s:g} s to come. Send it again."
            await refuse(scope, receive, send, 408, "too-slow", detail, spill=False)
        except _Gone:
            return
        else:
            if _is_json(headers) and is_too_deep(body):
                detail = f"The JSON is nested more than {MOST_DEPTH} deep, or has too many parts."
                await refuse(scope, receive, send, 400, "too-deep", detail, spill=False)
            else:
                await self.app(scope, _replay(body, receive), send)

    async def _body(self, headers: Headers, receive: Receive) -> bytes:
        length = headers.get("content-length", "")
        if length.isdigit() and int(length) > self.most_bytes:
            raise _TooLong
        async with asyncio.timeout(self.longest_s):
            return await self._read(receive)

    async def _read(self, receive: Receive) -> bytes:
        parts, size, more = [], 0, True
        while more:
            message = await receive()
            if message["type"] != "http.request":
                raise _Gone
            parts.append(message.get("body", b""))
            size += len(parts[-1])
            if size > self.most_bytes:
                raise _TooLong
            more = message.get("more_body", False)
        return b"".join(parts)

    async def _too_long(self, scope: Scope, receive: Receive, send: Send) -> None:
        detail = f"The body is too long; at most {self.most_bytes} bytes are taken."
        await refuse(scope, receive, send, 413, "too-long", detail)


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
