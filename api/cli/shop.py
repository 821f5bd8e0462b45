"""Opening a shop's data folder and database from the command line."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Any

import typer

from api.cli.output import stop
from api.paths import share
from api.settings import Settings
from api.storage import migrate
from api.storage.engine import Database

DataOption = Annotated[
    Path | None,
    typer.Option("--data", help="Data folder  [default: ./clampbook-data]", show_default=False),
]


def settings_from(**options: Any) -> Settings:
    """The settings of the environment, with the options that were given put over them."""
    return Settings(**{name: value for name, value in options.items() if value is not None})


def make_folder(settings: Settings) -> None:
    """Create the data folder and prove that files can be kept in it."""
    try:
        settings.data.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=settings.data):
            pass
    except OSError as error:
        stop(
            f"The data folder {settings.data} cannot be written ({error.strerror}). "
            "Choose another with --data FOLDER, or correct its owner and rights."
        )


@contextmanager
def opened(settings: Settings) -> Iterator[Database]:
    """The database of an existing shop, whatever revision its tables are at."""
    if not settings.database_url and not database_file(settings).is_file():
        stop(
            f"There are no records in {settings.data}. "
            "Name the data folder with --data FOLDER, or start 'clampbook demo' or "
            "'clampbook serve' to make one."
        )
    database = Database(settings.database)
    try:
        yield database
    finally:
        database.close()


@contextmanager
def current(settings: Settings) -> Iterator[Database]:
    """The database of an existing shop, refused unless its tables are at the newest revision."""
    with opened(settings) as database:
        require_newest(database)
        yield database


def require_newest(database: Database) -> None:
    refuse_newer(database)
    here, needed = migrate.current(database), migrate.newest(scripts())
    if here != needed:
        stop(
            f"The records are kept in an older form ({here or 'empty'}; this version needs {needed}). "
            "Copy the data folder to a place of safety, then run 'clampbook upgrade'."
        )


def refuse_newer(database: Database) -> None:
    """End the command when the tables come from a version that this one does not know."""
    here = migrate.current(database)
    if here is not None and here not in migrate.revisions(scripts()):
        stop(
            f"The records were written by a newer Clampbook (form {here}), which this version "
            "cannot read. Install that version again, or name another folder with --data FOLDER."
        )


def database_file(settings: Settings) -> Path:
    """The embedded database's file; it may not exist."""
    return Path(settings.database.removeprefix("sqlite:///"))


def scripts() -> Path:
    return share("migrations")


def private_file(path: Path) -> Any:
    """Open a new file that only its owner may read."""
    return os.fdopen(
        os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w", encoding="utf-8"
    )
