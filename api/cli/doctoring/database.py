"""The database: its engine's version, the form of its tables, the guards of its append-only ones."""

from __future__ import annotations

from pathlib import Path

from api.cli.doctoring.answer import Answer
from api.storage import migrate
from api.storage.engine import Database
from api.storage.triggers import MissingTrigger
from api.storage.unit_of_work import storage_errors

OLDEST = {"sqlite": (3, 38), "postgresql": (13,)}


def version(database: Database) -> Answer:
    with storage_errors(), database.reader.connect() as connection:
        found = connection.dialect.server_version_info or ()
    numbers = tuple(part for part in found if isinstance(part, int))
    return judged(database.url.get_backend_name(), numbers)


def judged(engine: str, found: tuple[int, ...]) -> Answer:
    told, oldest = _dotted(found), OLDEST[engine]
    if found < oldest:
        todo = f"Bring {engine} to version {_dotted(oldest)} or newer."
        return Answer("engine", f"{engine} {told} is too old", todo)
    return Answer("engine", f"{engine} {told}")


def tables(database: Database, scripts: Path) -> Answer:
    """The revision the tables are at, against the one this version was written for."""
    here, newest = migrate.current(database), migrate.newest(scripts)
    engine = database.url.get_backend_name()
    if here == newest:
        return Answer("database", f"{engine}, form {here}")
    known = here is None or here in migrate.revisions(scripts)
    todo = "Run 'clampbook upgrade'." if known else "Install the newer Clampbook that wrote it."
    return Answer(
        "database", f"{engine}, form {here or 'empty'}; this version needs {newest}", todo
    )


def guards(database: Database) -> Answer:
    try:
        migrate.assert_guarded(database)
    except MissingTrigger as error:
        return Answer("append-only guards", str(error), "Restore the database from a backup.")
    return Answer("append-only guards", "in place")


def _dotted(parts: tuple[int, ...]) -> str:
    return ".".join(map(str, parts))
