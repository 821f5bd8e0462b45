"""What a copy holds: opened again, read only, with every link of its chain followed."""

from __future__ import annotations

import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import create_engine, text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import SQLAlchemyError

from api.backing import postgres
from api.backing.copying import SQLITE_COPY
from api.backing.place import BackupFailed
from api.domain.errors import Unavailable
from api.domain.proof import first_fault
from api.storage.engine import Database
from api.storage.tables import METADATA
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases.checkpoints import latest_checkpoint
from api.use_cases.proof import written

TABLES = ("counter", "event", "journal", "shop_meta")
FORMS = "alembic_version"
ESCAPES = {"b": "\b", "f": "\f", "n": "\n", "r": "\r", "t": "\t", "v": "\v"}


@dataclass(frozen=True)
class Content:
    """`fault` is where the records do not fit together; empty if they do."""

    form: str
    epoch: str
    seq: int
    count: int
    head: str
    checkpoint: dict[str, Any] | None
    fault: str


def read_copy(copy: Path) -> Content:
    """Raises `BackupFailed` when the copy cannot be read at all."""
    try:
        with _as_sqlite(copy) as file, closing(Still(file)) as database:
            return _content(database)
    except (Unavailable, SQLAlchemyError, sqlite3.Error, UnicodeDecodeError) as problem:
        raise BackupFailed(
            f"The copy {copy} cannot be read again: {str(problem).splitlines()[0]}."
        ) from problem


class Still(Database):
    """A file that nobody writes, opened so that not a byte of it changes."""

    def __init__(self, file: Path) -> None:
        address = f"sqlite:///{file.absolute().as_uri()}?mode=ro&immutable=1&uri=true"
        self.url, self.is_sqlite = make_url(address), True
        self.reader = self.writer = create_engine(self.url)


def _content(database: Database) -> Content:
    with SqlUnitOfWork(database, read_only=True) as uow:
        fault, _ = first_fault(written(uow))
        seq, head = uow.events.chain_head()
        last = latest_checkpoint(uow)
        epoch, count = uow.shop.meta().epoch, uow.events.count() + uow.journal.count()
    with database.reader.connect() as connection:
        form = str(connection.execute(text(f"SELECT version_num FROM {FORMS}")).scalar_one())  # noqa: S608
    return Content(form, epoch, seq, count, head, last.told if last else None, fault)


@contextmanager
def _as_sqlite(copy: Path) -> Iterator[Path]:
    """A dump of the other engine is read through a file with the tables that matter here."""
    if copy.name == SQLITE_COPY:
        yield copy
        return
    with tempfile.TemporaryDirectory(prefix=".reading-", dir=copy.parent) as folder:
        script, file = Path(folder) / "rows", Path(folder) / "rows.sqlite3"
        postgres.rows_as_text(copy, [*TABLES, FORMS], script)
        _make_tables(file)
        with closing(sqlite3.connect(file)) as connection:
            _load(script, connection)
            connection.commit()
        script.unlink()
        yield file


def _make_tables(file: Path) -> None:
    engine = create_engine(f"sqlite:///{file}")
    METADATA.create_all(engine, [METADATA.tables[name] for name in TABLES])
    with engine.begin() as connection:
        connection.execute(text(f"CREATE TABLE {FORMS} (version_num VARCHAR(32))"))
    engine.dispose()


def _load(script: Path, connection: sqlite3.Connection) -> None:
    """Rows between `COPY table (columns) FROM stdin;` and a line with a backslash and a dot."""
    insert = ""
    with script.open(encoding="utf-8", newline="\n") as lines:
        for line in lines:
            if insert and line == "\\.\n":
                insert = ""
            elif insert:
                values = [unescaped(field) for field in line[:-1].split("\t")]
                connection.execute(insert, values)
            elif line.startswith("COPY "):
                table, _, columns = line.removeprefix("COPY ").partition(" (")
                names = columns.partition(")")[0]
                marks = ", ".join("?" for _ in names.split(", "))
                name = table.rpartition(".")[2]
                insert = f"INSERT INTO {name} ({names}) VALUES ({marks})"  # noqa: S608


def unescaped(field: str) -> str | None:
    """A value as PostgreSQL's text form writes it."""
    if field == "\\N":
        return None
    if "\\" not in field:
        return field
    first, *rest = field.split("\\\\")
    parts = [first, *rest]
    return "\\".join(_controls(part) for part in parts)


def _controls(part: str) -> str:
    """The text with its escaped control characters; no other escape occurs in it."""
    before, *after = part.split("\\")
    return before + "".join(ESCAPES.get(one[:1], one[:1]) + one[1:] for one in after)
