"""One origin: what a browser keeps belongs to it, so no other name gets as far as keeping anything."""

from __future__ import annotations

from urllib.parse import urlsplit

from fastapi.responses import RedirectResponse
from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from api.routes.guards.refusing import refuse

ON_THIS_MACHINE = "localhost"


class CanonicalOrigin:
    """Sends readers who came by another name or port to `origin`, and refuses their changes.

    `localhost` stays what it is: it means another machine to everybody else, and is trusted as it is.
    """

    def __init__(self, app: ASGIApp, origin: str) -> None:
        self.app, self.origin = app, origin
        self.here = _place(urlsplit(origin).netloc)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or self._is_here(Headers(scope=scope).get("host", "")):
            await self.app(scope, receive, send)
        elif scope["method"] in ("GET", "HEAD"):
            # Byte for byte as it was asked for; nothing of it reaches the name of the host.
            path = (scope.get("raw_path") or b"/").decode("latin-1")
            query = scope["query_string"].decode("latin-1")
            target = (path if path.startswith("/") else "/") + (f"?{query}" if query else "")
            await RedirectResponse(self.origin + target, 308)(scope, receive, send)
        else:
            detail = f"This server is {self.origin}. Open it by that address and send this again."
            await refuse(scope, receive, send, 421, "other-name", detail)

    def _is_here(self, host: str) -> bool:
        place = _place(host)
        return place is not None and (place == self.here or place[0] == ON_THIS_MACHINE)


def _place(netloc: str) -> tuple[str, int] | None:
    """Host and port, however they are written; None where that is not to be told."""
    try:
        parts = urlsplit(f"//{netloc}")
        host, port = parts.hostname, parts.port
    except ValueError:
        return None
    if not host or parts.netloc != netloc or "@" in netloc:
        return None
    return host.rstrip("."), port or 443
