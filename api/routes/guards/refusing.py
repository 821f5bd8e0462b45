"""How a guard says no: a problem like any other, and the end of the connection if it must be."""

from __future__ import annotations

import asyncio

from fastapi import Request
from starlette.datastructures import Headers
from starlette.types import Receive, Scope, Send

from api.routes.problems import problem, respond

MOST_SPILL_BYTES = 32_000_000
LONGEST_SPILL_S = 2.0
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
    spill: bool = True,
) -> None:
    """Answers, and ends the connection; `spill` first throws away what is still coming."""
    if spill and changes(scope) and "expect" not in Headers(scope=scope):
        await _spill(receive)
    more = {} if retry_after_s is None else {"retry_after_s": retry_after_s}
    body = problem(status, code, detail, **more)
    answer = respond(Request(scope), body, {"Connection": "close"})
    await answer(scope, receive, send)


def changes(scope: Scope) -> bool:
    """Whether this request may change something."""
    return scope["type"] == "http" and scope["method"] not in SAFE_METHODS


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
