"""An empty place for a copy in a PostgreSQL database: what fills it is renamed, never dropped."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import text

from api.backing.place import BackupFailed
from api.backing.postgres import ASIDE
from api.storage.engine import Database
from api.storage.unit_of_work import storage_errors

TABLES = "SELECT count(*) FROM pg_tables WHERE schemaname = 'public'"
OTHERS = (
    "SELECT count(*) FROM pg_stat_activity "
    "WHERE datname = current_database() AND pid <> pg_backend_pid() "
    "AND backend_type = 'client backend'"
)


@contextmanager
def emptied(database: Database, stamp: str, replace: bool) -> Iterator[str]:
    """Yields the schema that holds what was there before; it comes back if the block fails."""
    filled, others = _ask(database, TABLES), _ask(database, OTHERS)
    if others:
        raise BackupFailed(
            f"{others} other programs are connected to this database. Stop the servers that use it."
        )
    if filled and not replace:
        raise BackupFailed(
            f"The database holds {filled} tables. Name an empty one in CLAMPBOOK_DATABASE_URL, or "
            f"move them to a schema {ASIDE}... of the same database with --replace."
        )
    aside = f"{ASIDE}{stamp}" if filled else ""
    if aside:
        _change(database, f'ALTER SCHEMA public RENAME TO "{aside}"', "CREATE SCHEMA public")
    try:
        yield aside
    except BaseException:
        if aside:
            back = f'ALTER SCHEMA "{aside}" RENAME TO public'
            _change(database, "DROP SCHEMA public CASCADE", back)
        raise


def _ask(database: Database, query: str) -> int:
    with storage_errors(), database.writer.connect() as connection:
        found = int(connection.execute(text(query)).scalar_one())
    database.close()
    return found


def _change(database: Database, *statements: str) -> None:
    with storage_errors(), database.writer.begin() as connection:
        for statement in statements:
            connection.execute(text(statement))
    database.close()
