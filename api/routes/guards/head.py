"""Refuses a request whose first lines are too long, too many, or may be read in two ways."""

from __future__ import annotations

from starlette.types import ASGIApp, Receive, Scope, Send

from api.routes.guards.refusing import refuse

LONGEST_TARGET_BYTES = 4_000
LONGEST_HEADERS_BYTES = 16_000
MOST_HEADERS = 64
VERSIONS = ("1.0", "1.1")
# Two of these, and a proxy in front may believe the other one.
ONCE = frozenset({b"host", b"content-length", b"transfer-encoding", b"content-type", b"origin"})


class HeadGuard:
    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        wrong = _wrong_with(scope)
        if wrong is None:
            await self.app(scope, receive, send)
        else:
            await refuse(scope, receive, send, *wrong)


def _wrong_with(scope: Scope) -> tuple[int, str, str] | None:
    if scope["http_version"] not in VERSIONS:
        return 505, "http-version", "HTTP 1.1 is spoken here."
    target = len(scope.get("raw_path") or b"") + len(scope["query_string"])
    if target > LONGEST_TARGET_BYTES:
        detail = f"The address is too long; at most {LONGEST_TARGET_BYTES} bytes are taken."
        return 400, "address-too-long", detail
    headers = scope["headers"]
    size = sum(len(name) + len(value) for name, value in headers)
    if len(headers) > MOST_HEADERS or size > LONGEST_HEADERS_BYTES:
        detail = f"Too many headers; at most {MOST_HEADERS} with {LONGEST_HEADERS_BYTES} bytes are taken."
        return 431, "headers-too-large", detail
    names = [name for name, _ in headers]
    twice = sorted({name for name in names if name in ONCE and names.count(name) > 1})
    if twice:
        return 400, "header-twice", f"The header {twice[0].decode()} stands there twice."
    if b"content-length" in names and b"transfer-encoding" in names:
        detail = "Content-Length and Transfer-Encoding stand there together; send one of them."
        return 400, "two-lengths", detail
    return None
