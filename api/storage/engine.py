"""Engines: one writer and a read-only reader beside it, on SQLite or PostgreSQL."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, event
from sqlalchemy.engine import URL, Connection, make_url
from sqlalchemy.pool import QueuePool
from sqlmodel import create_engine

BUSY_TIMEOUT_MS = 10_000
WRITER_WAIT_S = 30
READERS = 20


class Database:
    """The two engines over one database; `close()` lets go of every connection."""

    def __init__(self, url: str) -> None:
        self.url = _normal(make_url(url))
        self.is_sqlite = self.url.get_backend_name() == "sqlite"
        if self.is_sqlite:
            _make_file(self.url)
            self.writer = _sqlite(self.url, size=1, begin="BEGIN IMMEDIATE", read_only=False)
            self.reader = _sqlite(self.url, size=READERS, begin="BEGIN", read_only=True)
        else:
            self.writer = create_engine(
                self.url,
                hide_parameters=True,
                pool_size=8,
                max_overflow=0,
                pool_timeout=WRITER_WAIT_S,
            )
            self.reader = create_engine(
                self.url,
                hide_parameters=True,
                pool_size=READERS,
                execution_options={
                    "isolation_level": "REPEATABLE READ",
                    "postgresql_readonly": True,
                },
            )
            for made in (self.writer, self.reader):
                event.listen(made, "connect", _with_patience)

    def close(self) -> None:
        self.writer.dispose()
        self.reader.dispose()


def sqlite_url(path: Path) -> str:
    return f"sqlite:///{path}"


def _normal(url: URL) -> URL:
    if url.get_backend_name() == "postgresql":
        return url.set(drivername="postgresql+psycopg")
    return url


def _make_file(url: URL) -> None:
    """A new database is its owner's alone: it holds the hashes of PINs."""
    if url.database:
        path = Path(url.database)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.touch(mode=0o600, exist_ok=True)


def _with_patience(connection: Any, _record: Any) -> None:
    """As on SQLite: who waits for another program's lock gives up in the end and says so."""
    connection.execute(f"SET lock_timeout = {BUSY_TIMEOUT_MS}")
    connection.commit()


def _sqlite(url: URL, *, size: int, begin: str, read_only: bool) -> Engine:
    engine = create_engine(
        url,
        hide_parameters=True,
        poolclass=QueuePool,
        pool_size=size,
        max_overflow=0,
        pool_timeout=WRITER_WAIT_S,
        connect_args={"check_same_thread": False, "timeout": BUSY_TIMEOUT_MS / 1000},
    )

    def prepare(connection: sqlite3.Connection, _record: Any) -> None:
        # The driver's own transaction handling would begin too late and too weakly.
        connection.isolation_level = None
        for pragma in (
            f"busy_timeout = {BUSY_TIMEOUT_MS}",
            "journal_mode = WAL",
            "synchronous = FULL",
            "foreign_keys = ON",
            "recursive_triggers = ON",
            f"query_only = {'ON' if read_only else 'OFF'}",
        ):
            connection.execute(f"PRAGMA {pragma}").close()

    def start(connection: Connection) -> None:
        connection.exec_driver_sql(begin)

    event.listen(engine, "connect", prepare)
    event.listen(engine, "begin", start)
    return engine
