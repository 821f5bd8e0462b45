"""Bringing a database to the newest revision of its tables, and checking it on the way."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory

from api.storage import triggers
from api.storage.engine import Database
from api.storage.unit_of_work import storage_errors


def upgrade(database: Database, scripts: Path, to: str = "head") -> None:
    """Runs the migrations in folder `scripts` up to revision `to`."""
    config = _config(scripts)
    config.attributes["database"] = database
    with storage_errors():
        command.upgrade(config, to)


def current(database: Database) -> str | None:
    """The revision the database is at; None when it is empty."""
    with storage_errors(), database.reader.connect() as connection:
        return MigrationContext.configure(connection).get_current_revision()


def newest(scripts: Path) -> str | None:
    return ScriptDirectory.from_config(_config(scripts)).get_current_head()


def revisions(scripts: Path) -> list[str]:
    """Every revision, oldest first."""
    walked = ScriptDirectory.from_config(_config(scripts)).walk_revisions()
    return [script.revision for script in walked][::-1]


def assert_guarded(database: Database) -> None:
    """Raises when an append-only table has lost a trigger."""
    with storage_errors(), database.reader.connect() as connection:
        triggers.assert_present(connection)


def _config(scripts: Path) -> Config:
    config = Config()
    config.set_main_option("script_location", str(scripts).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config
