"""A stream that says when there is something to pull, and nothing else."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Callable
from contextlib import suppress

import anyio
from fastapi import APIRouter, Request
from sse_starlette import EventSourceResponse, ServerSentEvent
from starlette.concurrency import run_in_threadpool

from api.domain.errors import Unavailable
from api.routes.api.sessions import TabletDep
from api.use_cases import records, shop
from api.use_cases.ports import Means, UnitOfWork

router = APIRouter(prefix="/sync")
LOOK_EVERY_S = 2.0
PING_S = 15
ASK_EVERY_S = 0.5
Head = tuple[int, str]


class HeadWatch:
    """One look at the database for all listeners: at a nudge, else every two seconds."""

    def __init__(self, reader: Callable[[], UnitOfWork], means: Means) -> None:
        self._reader, self._means = reader, means
        self._loop: asyncio.AbstractEventLoop | None = None
        self._nudged = asyncio.Event()
        self._changed = asyncio.Condition()
        self.head: Head | None = None

    def nudge(self) -> None:
        """Look now; may be called from any thread."""
        if self._loop is not None:
            self._loop.call_soon_threadsafe(self._nudged.set)

    async def run(self) -> None:
        self._loop = asyncio.get_running_loop()
        while True:
            with suppress(Unavailable):
                await self._look()
            with suppress(TimeoutError):
                await asyncio.wait_for(self._nudged.wait(), LOOK_EVERY_S)
            self._nudged.clear()

    async def after(self, known: Head | None, within_s: float) -> Head | None:
        """The head, as soon as it is another than `known`; None when it stays so long."""
        with suppress(TimeoutError):
            async with self._changed:
                fresh = self._changed.wait_for(lambda: self.head not in (None, known))
                await asyncio.wait_for(fresh, within_s)
                return self.head
        return None

    async def _look(self) -> None:
        head = await run_in_threadpool(self._read)
        if head != self.head:
            async with self._changed:
                self.head = head
                self._changed.notify_all()

    def _read(self) -> Head:
        uow = self._reader()
        return records.head(uow), shop.shop_version(uow, self._means)


@router.get("/hints")
async def hints(request: Request, _tablet: TabletDep) -> EventSourceResponse:
    stop = anyio.Event()
    return EventSourceResponse(
        _hints(request.app.state.watch, stop),
        ping=PING_S,
        ping_message_factory=lambda: ServerSentEvent(comment="ping"),
        shutdown_event=stop,
        shutdown_grace_period=2 * ASK_EVERY_S,
    )


async def _hints(watch: HeadWatch, stop: anyio.Event) -> AsyncIterator[ServerSentEvent]:
    known: Head | None = None
    while not stop.is_set():
        fresh = await watch.after(known, ASK_EVERY_S)
        if fresh is not None:
            known = fresh
            body = json.dumps({"head": fresh[0], "shop": fresh[1]})
            yield ServerSentEvent(event="head", data=body)
