"""PostgreSQL's own programs: a consistent dump of a database in use, and its way back."""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from psycopg.conninfo import make_conninfo
from sqlalchemy.engine import URL

from api.backing.place import BackupFailed

PACKAGED = "/usr/lib/postgresql"
ASIDE = "replaced_"


def dump(url: URL, to: Path) -> None:
    """One snapshot of everything but what an earlier restore moved aside."""
    with _address(url) as address:
        _run("pg_dump", ["-Fc", f"--exclude-schema={ASIDE}*", f"--file={to}", address])


def put_back(dump_file: Path, url: URL) -> None:
    """Into an empty database, all or nothing."""
    with _address(url) as address:
        words = ["--no-owner", "--no-privileges", "--exit-on-error", "--single-transaction"]
        _run("pg_restore", [*words, f"--dbname={address}", str(dump_file)])


def rows_as_text(dump_file: Path, tables: Sequence[str], to: Path) -> None:
    """The rows of some tables as the engine writes them into a script."""
    named = [f"--table={table}" for table in tables]
    _run("pg_restore", ["--data-only", *named, f"--file={to}", str(dump_file)])


def program(name: str) -> str:
    """The program on the path, else the newest version the system's packages put elsewhere."""
    found = shutil.which(name)
    if found:
        return found
    folders = [path for path in Path(PACKAGED).glob("*/bin") if (path / name).is_file()]
    if not folders:
        raise BackupFailed(
            f"{name} is not installed on this machine; without it a PostgreSQL database cannot be "
            "copied. Install the PostgreSQL client programs of the server's version."
        )
    newest = max(folders, key=lambda path: float(path.parent.name))
    return str(newest / name)


@contextmanager
def _address(url: URL) -> Iterator[str]:
    """The address without its password, which other users could read in the list of processes."""
    parts = url.translate_connect_args(username="user", database="dbname")
    parts |= {name: value for name, value in url.query.items() if isinstance(value, str)}
    password = parts.pop("password", None)
    if password is None:
        yield make_conninfo(**parts)
        return
    with tempfile.NamedTemporaryFile("w", prefix="clampbook-", suffix=".pass") as file:
        escaped = str(password).replace("\\", "\\\\").replace(":", "\\:")
        file.write(f"*:*:*:*:{escaped}\n")
        file.flush()
        yield make_conninfo(**parts, passfile=file.name)


def _run(name: str, words: list[str]) -> None:
    done = subprocess.run(  # noqa: S603 a program of the system, with words of our own
        [program(name), *words], stdin=subprocess.DEVNULL, capture_output=True, check=False
    )
    if done.returncode:
        said = done.stderr.decode(errors="replace").strip().splitlines() or ["no reason given"]
        raise BackupFailed(f"{name} failed: {said[0][:300]}")
