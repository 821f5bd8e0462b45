"""One line in the log for each request, and an id that its answer carries too."""

from __future__ import annotations

import logging
import secrets
import time
from typing import Any

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

HEADER = "X-Request-Id"
STATE = "request_id"
UNTOLD = ("/api/health", "/static")

log = logging.getLogger("api.requests")


class RequestLog:
    """Stands before everything else, so that whatever is answered is logged."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request_id, began_s, status = secrets.token_hex(8), time.monotonic(), None
        scope.setdefault("state", {})[STATE] = request_id

        async def named(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
                MutableHeaders(scope=message)[HEADER] = request_id
            await send(message)

        try:
            await self.app(scope, receive, named)
        except Exception as error:
            log.error("failed", exc_info=error, extra={"facts": {"request": request_id}})
            raise
        finally:
            if not scope["path"].startswith(UNTOLD):
                ms = round((time.monotonic() - began_s) * 1000, 1)
                log.info("request", extra={"facts": _facts(scope, status, ms)})


def _facts(scope: Scope, status: int | None, ms: float) -> dict[str, Any]:
    """`status` is missing when the sender was gone before an answer began."""
    state, client = scope["state"], scope.get("client")
    return {
        "request": state[STATE],
        "method": scope["method"],
        "route": _route(scope),
        "status": status,
        "ms": ms,
        "badge": getattr(state.get("person"), "badge", None),
        "tablet": getattr(state.get("tablet"), "id", state.get("tablet")),
        "client": client[0] if client else None,
    }


def _route(scope: Scope) -> str | None:
    """The route's pattern with the prefixes it is included under; never what stands for a name in it."""
    pattern = getattr(scope.get("route"), "path", None)
    if pattern is None or ":path}" in pattern:
        return pattern
    whole, own = scope["path"].split("/"), pattern.lstrip("/").split("/")
    return "/".join([*whole[: len(whole) - len(own)], *own])
