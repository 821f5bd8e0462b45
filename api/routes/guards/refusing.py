"""How a guard says no: a problem like any other, and the end of the connection if it must be."""

from __future__ import annotations

from fastapi import Request
from starlette.types import Receive, Scope, Send

from api.routes.problems import problem, respond

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})


async def refuse(
    scope: Scope,
    receive: Receive,
    send: Send,
    status: int,
    code: str,
    detail: str,
    *,
    retry_after_s: int | None = None,
) -> None:
    """Answers without reading on, so what is left of the request ends with the connection."""
    more = {} if retry_after_s is None else {"retry_after_s": retry_after_s}
    body = problem(status, code, detail, **more)
    answer = respond(Request(scope), body, {"Connection": "close"})
    await answer(scope, receive, send)


def changes(scope: Scope) -> bool:
    """Whether this request may change something."""
    return scope["type"] == "http" and scope["method"] not in SAFE_METHODS
