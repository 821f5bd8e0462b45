"""Whether records can be kept now. While they cannot, the server reads only, and says why."""

from __future__ import annotations

import asyncio
import logging
import secrets
import sqlite3
import threading

from sqlalchemy import event
from sqlalchemy.engine import ExceptionContext
from starlette.concurrency import run_in_threadpool

from api.domain.errors import Unavailable
from api.operating.disk import DiskWatch
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork

PROBE_EVERY_S = 5.0
CODE = "read-only"
LONGEST_REASON = 200
# SQLite: busy, locked, read-only, input or output, corrupt, full, cannot be opened, no database.
SQLITE_FAILURES = frozenset({5, 6, 8, 10, 11, 13, 14, 26})
# PostgreSQL: connection, read-only or in recovery, no room, shut down, system, internal.
POSTGRES_FAILURES = ("08", "25006", "53", "55P03", "57", "58", "XX")

log = logging.getLogger(__name__)


class WriteWatch:
    """Asked before every change; `run` tries again until a row can be written."""

    def __init__(
        self, database: Database, disk: DiskWatch, probe_every_s: float = PROBE_EVERY_S
    ) -> None:
        self.disk = disk
        self._database, self._every_s = database, probe_every_s
        self._failure = ""
        self._lock = threading.Lock()
        self._loop: asyncio.AbstractEventLoop | None = None
        self._failed = asyncio.Event()
        event.listen(database.writer, "handle_error", self._look_at)

    def why(self) -> str:
        """Why nothing can be written now, and what to do; empty while all is well."""
        reason = self.disk.low() or self._failure
        if not reason:
            return ""
        return f"Read-only: {reason}; this ends by itself as soon as records can be kept again."

    def writer(self) -> SqlUnitOfWork:
        """For what the server does by itself: raises `Unavailable` instead of trying in vain."""
        reason = self.why()
        if reason:
            raise Unavailable(reason, code=CODE)
        return SqlUnitOfWork(self._database)

    async def run(self) -> None:
        """Leaves the state as soon as a row is written: at once after a failure, then again."""
        self._loop = asyncio.get_running_loop()
        if self._failure:
            self._failed.set()
        while True:
            await self._failed.wait()
            self._failed.clear()
            if not await run_in_threadpool(self.probe):
                self._loop.call_later(self._every_s, self._failed.set)

    def probe(self) -> bool:
        """Whether a row could be written and committed just now."""
        if self.disk.low():
            return not self._failure
        try:
            with SqlUnitOfWork(self._database) as uow:
                uow.shop.probe(secrets.token_hex(8))
                uow.commit()
        except Unavailable as problem:
            # A connection may remember what is mended since; the next one is made anew.
            self._database.writer.dispose()
            self._set(self._failure or _sentence(problem.message))
            return False
        self._set("")
        return True

    def _look_at(self, context: ExceptionContext) -> None:
        """Every error of the writing engine passes here, whichever thread it happens in."""
        error = context.original_exception
        if not is_failure(error):
            return
        reason = str(error).splitlines()[0] if str(error) else type(error).__name__
        begins = self._set(_sentence(reason))
        if begins and self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._failed.set)

    def _set(self, failure: str) -> bool:
        """Whether the state begins with this failure."""
        with self._lock:
            before, self._failure = self._failure, failure
        if failure and not before:
            log.warning("read-only begins", extra={"facts": {"why": failure}})
        elif before and not failure:
            log.warning("read-only ends")
        return bool(failure and not before)


def is_failure(error: BaseException | None) -> bool:
    """Whether the database cannot be written, rather than that it refused one statement."""
    if isinstance(error, sqlite3.Error):
        return (getattr(error, "sqlite_errorcode", 0) & 0xFF) in SQLITE_FAILURES
    state = getattr(error, "sqlstate", None)
    if isinstance(state, str):
        return state.startswith(POSTGRES_FAILURES)
    return type(error).__name__ == "OperationalError"


def _sentence(reason: str) -> str:
    return (
        f"the database takes no records now ({reason[:LONGEST_REASON]}). "
        "Run 'clampbook doctor' on the server; tablets keep what they have"
    )
