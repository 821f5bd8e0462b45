"""What `clampbook doctor` looks at, one check for one thing."""

from __future__ import annotations

from collections.abc import Iterator

from api.backing import Shelf
from api.cli.doctoring.answer import Answer
from api.cli.doctoring.backups import backups
from api.cli.doctoring.certificate import certificate
from api.cli.doctoring.database import guards, tables, version
from api.cli.doctoring.machine import disks, folder, front_end, keys
from api.cli.doctoring.records import records
from api.cli.shop import scripts
from api.paths import share
from api.settings import Settings
from api.storage.engine import Database

__all__ = ["Answer", "examine"]


def examine(settings: Settings, database: Database) -> Iterator[Answer]:
    """Every check in turn; those that need readable tables only where there are some."""
    yield folder(settings.data)
    yield keys(settings.keys)
    yield from disks(settings, database)
    yield front_end(share("web/dist"))
    yield certificate(settings)
    yield version(database)
    form = tables(database, scripts())
    yield form
    if not form.todo:
        yield guards(database)
        yield from records(settings, database)
    yield backups(Shelf(settings.backups_folder), settings.backup_every_h)
