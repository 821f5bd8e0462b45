"""A small application behind a guard, and one request played to it message by message."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from starlette.types import ASGIApp, Message, Receive, Scope, Send


@dataclass
class Echo:
    """Answers with 200, and remembers the bodies it was given."""

    bodies: list[bytes] = field(default_factory=list)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        message = await receive()
        self.bodies.append(message.get("body", b""))
        await send({"type": "http.response.start", "status": 200, "headers": []})
        await send({"type": "http.response.body", "body": b""})


def scope_of(path: str = "/api/sync/push", method: str = "POST", **headers: str) -> dict[str, Any]:
    return {
        "type": "http",
        "http_version": "1.1",
        "method": method,
        "path": path,
        "raw_path": path.encode(),
        "query_string": b"",
        "headers": [
            (name.replace("_", "-").encode(), value.encode()) for name, value in headers.items()
        ],
        "client": ("10.0.0.1", 1),
        "scheme": "http",
        "server": ("shop.test", 80),
        "root_path": "",
        "state": {},
    }


def played(app: ASGIApp, scope: Scope, messages: Sequence[Message]) -> list[Message]:
    """What the application sends while these messages come, and then nothing more."""
    waiting, sent = list(messages), []

    async def receive() -> Message:
        if waiting:
            return waiting.pop(0)
        await asyncio.Event().wait()
        raise AssertionError("nothing more comes")

    async def send(message: Message) -> None:
        sent.append(message)

    async def play() -> None:
        await app(scope, receive, send)

    asyncio.run(play())
    return sent


def part(body: bytes, *, more: bool = True) -> Message:
    return {"type": "http.request", "body": body, "more_body": more}


def status_of(sent: list[Message]) -> int | None:
    return sent[0]["status"] if sent else None
