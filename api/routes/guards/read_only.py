"""While records cannot be kept nothing is tried: changes are refused before anything is written."""

from __future__ import annotations

from collections.abc import Callable

from fastapi import Request
from starlette.types import ASGIApp, Receive, Scope, Send

from api.routes.guards.refusing import changes
from api.routes.problems import problem, respond

RETRY_AFTER_S = 30
CODE = "read-only"


class ReadOnlyGuard:
    """`why` is asked at every request; what it says stands on every office page as well."""

    def __init__(self, app: ASGIApp, why: Callable[[], str]) -> None:
        self.app, self.why = app, why

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        reason = scope.setdefault("state", {})["read_only"] = self.why()
        if reason and changes(scope):
            body = problem(503, CODE, reason, retry_after_s=RETRY_AFTER_S)
            await respond(Request(scope), body)(scope, receive, send)
            return
        await self.app(scope, receive, send)
