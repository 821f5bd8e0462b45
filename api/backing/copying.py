"""The copy itself, by each engine's own means while the shop goes on."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from sqlalchemy.engine import URL

from api.backing import postgres
from api.backing.place import BackupFailed

SQLITE_COPY, POSTGRES_COPY = "clampbook.sqlite3", "clampbook.dump"
PAGES_PER_STEP = 2_000
WAIT_S = 30


def copy_database(url: URL, folder: Path) -> Path:
    """The file in `folder` that holds everything of one moment; it is on disk on return."""
    if url.get_backend_name() == "sqlite":
        made = folder / SQLITE_COPY
        _copy_sqlite(Path(url.database or ""), made)
    else:
        made = folder / POSTGRES_COPY
        postgres.dump(url, made)
    made.chmod(0o600)
    sync(made)
    return made


def size_bytes(url: URL, database_bytes: int) -> int:
    """How much room a copy may take."""
    if url.get_backend_name() != "sqlite":
        return database_bytes
    path = Path(url.database or "")
    return sum(one.stat().st_size for one in (path, Path(f"{path}-wal")) if one.exists())


def sync(path: Path) -> None:
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _copy_sqlite(source: Path, target: Path) -> None:
    """Inside one reading transaction, so that no writer makes the copying begin again."""
    try:
        with (
            closing(sqlite3.connect(f"{source.absolute().as_uri()}?mode=rw", uri=True)) as live,
            closing(sqlite3.connect(target)) as copy,
        ):
            live.execute(f"PRAGMA busy_timeout = {WAIT_S * 1000}")
            live.execute("PRAGMA query_only = ON")
            live.execute("BEGIN")
            live.execute("SELECT count(*) FROM sqlite_master").fetchone()
            live.backup(copy, pages=PAGES_PER_STEP)
            # One file, without the side files of a database in use.
            copy.execute("PRAGMA journal_mode = DELETE")
            found = [row[0] for row in copy.execute("PRAGMA integrity_check")]
    except sqlite3.Error as problem:
        raise BackupFailed(f"The database could not be copied: {problem}.") from problem
    if found != ["ok"]:
        raise BackupFailed(
            f"The copy is damaged ({found[0]}), and so is perhaps the database. "
            "Run 'clampbook doctor'; keep the earlier backups."
        )
