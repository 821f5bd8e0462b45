"""Databases that many tests begin with: filled once by a worker, copied for each test."""

from __future__ import annotations

import atexit
import shutil
import tempfile
from collections.abc import Callable
from contextlib import closing
from functools import cache
from pathlib import Path

from sqlalchemy.engine import make_url

from api.paths import share
from api.storage import migrate
from api.storage.engine import Database, sqlite_url
from tests.support.postgres import create_database, drop_database, new_address

Fill = Callable[[Database], None]


def filled(url: str, fill: Fill) -> Database:
    """The database at `url`, made here, holding what `fill` puts into an empty one."""
    if make_url(url).get_backend_name() == "sqlite":
        target = Path(str(make_url(url).database))
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(_sqlite(fill), target)
    else:
        drop_database(url)
        create_database(url, like=_postgres(f"{url.rpartition('/')[0]}/", fill))
    return Database(url)


def migrated(database: Database) -> None:
    """Tables, and nothing in them."""
    migrate.upgrade(database, share("migrations"))


@cache
def _folder() -> Path:
    folder = tempfile.mkdtemp(prefix="clampbook-filled-")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return Path(folder)


@cache
def _sqlite(fill: Fill) -> Path:
    file = Path(tempfile.mkdtemp(dir=_folder())) / "filled.sqlite3"
    with closing(Database(sqlite_url(file))) as database:
        fill(database)
    return file


@cache
def _postgres(cluster_url: str, fill: Fill) -> str:
    url = new_address(cluster_url)
    create_database(url)
    with closing(Database(url)) as database:
        fill(database)
    return url
