"""Locks between processes that vanish with whoever holds them, on every system SQLite runs on."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from api.backing.place import BackupFailed

SERVING, MAKING = "serving.lock", "making.lock"


@contextmanager
def shared(path: Path, busy: str) -> Iterator[None]:
    """Held by any number of processes, none of which wants it alone."""
    yield from _held(path, ("BEGIN", "SELECT count(*) FROM sqlite_master"), busy)


@contextmanager
def alone(path: Path, busy: str) -> Iterator[None]:
    """Held by one; raises `BackupFailed` with the sentence `busy` when any other holds it."""
    yield from _held(path, ("BEGIN EXCLUSIVE",), busy)


def _held(path: Path, statements: tuple[str, ...], busy: str) -> Iterator[None]:
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    path.touch(mode=0o600, exist_ok=True)
    connection = sqlite3.connect(path, timeout=0, isolation_level=None, check_same_thread=False)
    try:
        try:
            for statement in statements:
                connection.execute(statement).fetchall()
        except sqlite3.OperationalError as problem:
            raise BackupFailed(busy) from problem
        yield
    finally:
        connection.close()
