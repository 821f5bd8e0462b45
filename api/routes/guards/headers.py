"""The headers of every answer: what a browser may load, keep, embed and tell others."""

from __future__ import annotations

from fastapi import Request
from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.routes.problems import unforeseen

DIRECTIVES = (
    "default-src 'none'",
    "script-src 'self'",
    "style-src 'self'",
    "img-src 'self' data:",
    "font-src 'self'",
    "connect-src 'self'",
    "manifest-src 'self'",
    "worker-src 'self'",
    "object-src 'none'",
    "frame-ancestors 'none'",
    "form-action 'self'",
    "base-uri 'none'",
)
HEADERS = {
    "content-security-policy": "; ".join(DIRECTIVES),
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-embedder-policy": "require-corp",
    "cross-origin-resource-policy": "same-origin",
    "x-frame-options": "DENY",
    "permissions-policy": "camera=(self), microphone=(), geolocation=(), payment=()",
}
ONE_YEAR_S = 365 * 24 * 3600
HTTPS_ONLY = f"max-age={ONE_YEAR_S}"
# Files of the build hold no data; a browser keeps them and asks whether they changed.
STATIC = "/static/"


class SecurityHeaders:
    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                _add(MutableHeaders(scope=message), scope)
            await send(message)

        await self.app(scope, receive, send_with_headers)


def _add(headers: MutableHeaders, scope: Scope) -> None:
    for name, value in HEADERS.items():
        headers[name] = value
    if scope["scheme"] == "https" and not _is_on_this_machine(scope):
        headers["strict-transport-security"] = HTTPS_ONLY
    kept = "no-cache" if scope["path"].startswith(STATIC) else "no-store"
    headers.setdefault("cache-control", kept)


def _is_on_this_machine(scope: Scope) -> bool:
    """A promise made for `localhost` would bind every other server that a developer starts there."""
    host = Headers(scope=scope).get("host", "").lower()
    return host.partition(":")[0] == "localhost"


class LastResort:
    """Answers what nobody foresaw, where the headers are still to be added; the log gets the rest."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        started = False

        async def watched(message: Message) -> None:
            nonlocal started
            started = started or message["type"] == "http.response.start"
            await send(message)

        try:
            await self.app(scope, receive, watched)
        except Exception as error:
            if scope["type"] == "http" and not started:
                answer = await unforeseen(Request(scope), error)
                await answer(scope, receive, send)
            raise
