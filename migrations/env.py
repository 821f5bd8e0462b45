"""Runs migrations on SQLite and PostgreSQL under the same rules.

On SQLite a batch migration rebuilds tables, so foreign keys are off while it runs and are
checked afterwards. On both, the append-only triggers must be there at the end and no table
may have lost rows.
"""

from __future__ import annotations

from alembic import context
from sqlalchemy import Connection, inspect, text

from api.storage import tables, triggers
from api.storage.engine import Database

METADATA = tables.METADATA


def run() -> None:
    database = context.config.attributes["database"]
    if not isinstance(database, Database):
        raise TypeError("run migrations through api.storage.migrate.upgrade")
    with database.writer.connect() as connection:
        if database.is_sqlite:
            _foreign_keys(connection, on=False)
        try:
            _migrate(connection)
        finally:
            if database.is_sqlite:
                _foreign_keys(connection, on=True)


def _migrate(connection: Connection) -> None:
    before = _row_counts(connection)
    context.configure(connection=connection, target_metadata=METADATA, render_as_batch=True)
    with context.begin_transaction():
        context.run_migrations()
        triggers.assert_present(connection)
        _assert_no_row_lost(before, _row_counts(connection))
        _assert_references(connection)
    connection.commit()


def _foreign_keys(connection: Connection, *, on: bool) -> None:
    # The pragma has no effect inside a transaction, and this engine always is in one.
    connection.rollback()
    raw = connection.connection.driver_connection
    if raw is not None:
        raw.execute(f"PRAGMA foreign_keys = {'ON' if on else 'OFF'}")


def _row_counts(connection: Connection) -> dict[str, int]:
    names = [name for name in inspect(connection).get_table_names() if name != "alembic_version"]
    counts = {}
    for name in names:
        quoted = connection.dialect.identifier_preparer.quote(name)
        counts[name] = int(connection.execute(text(f"SELECT count(*) FROM {quoted}")).scalar_one())  # noqa: S608
    return counts


def _assert_no_row_lost(before: dict[str, int], after: dict[str, int]) -> None:
    for name, count in before.items():
        if name in after and after[name] < count:
            raise RuntimeError(
                f"table {name} had {count} rows before the migration and {after[name]} after it"
            )


def _assert_references(connection: Connection) -> None:
    if connection.dialect.name == "sqlite":
        broken = connection.execute(text("PRAGMA foreign_key_check")).all()
        if broken:
            raise RuntimeError(f"the migration leaves a broken reference: {tuple(broken[0])}")


run()
