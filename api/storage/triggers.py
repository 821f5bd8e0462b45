"""Triggers that keep the append-only tables append-only, on both engines."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Connection, text

GUARDED_SINCE = {"event": "0001", "store_item": "0001", "journal": "0003", "set_aside": "0003"}
"""The append-only tables, with the form that guarded them first."""
_REFUSAL = "rows of {table} are never changed or deleted"


class MissingTrigger(RuntimeError):
    """An append-only table stands unguarded; nothing may be served from such a database."""


def create(connection: Connection, tables: Sequence[str]) -> None:
    """Guards each of the tables; for the migration that makes them."""
    for table in tables:
        for statement in _statements(connection, table):
            connection.execute(text(statement))


def names(table: str) -> list[str]:
    return [f"{table}_no_update", f"{table}_no_delete"]


def assert_present(connection: Connection) -> None:
    """Raises `MissingTrigger` naming the first guard that this form must have and has not."""
    if connection.dialect.name == "sqlite":
        query = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    else:
        query = "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled = 'O'"
    present = {row[0] for row in connection.execute(text(query))}
    form = str(connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one())
    guarded = [table for table, since in GUARDED_SINCE.items() if since <= form]
    for name in (name for table in guarded for name in names(table)):
        if name not in present:
            raise MissingTrigger(
                f"the guard {name} is missing from the database; restore it from a backup"
            )


def _statements(connection: Connection, table: str) -> list[str]:
    refusal = _REFUSAL.format(table=table)
    if connection.dialect.name == "sqlite":
        return [
            f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
            f"BEGIN SELECT RAISE(ABORT, '{refusal}'); END"
            for verb in ("UPDATE", "DELETE")
        ]
    function = (
        f"CREATE FUNCTION {table}_refuse() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{refusal}'; END $$"
    )
    guard = f"FOR EACH STATEMENT EXECUTE FUNCTION {table}_refuse()"
    return [
        function,
        f"CREATE TRIGGER {table}_no_update BEFORE UPDATE ON {table} {guard}",
        f"CREATE TRIGGER {table}_no_delete BEFORE DELETE OR TRUNCATE ON {table} {guard}",
    ]
