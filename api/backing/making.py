"""Making a backup: checkpoint, copy, check, manifest, and only then the watermark."""

from __future__ import annotations

import datetime as dt
import shutil
from contextlib import closing
from pathlib import Path

from sqlalchemy import text

from api.backing import locks
from api.backing.copying import copy_database, size_bytes, sync
from api.backing.manifest import FILE, Manifest, hashes_of
from api.backing.place import BackupFailed, Place
from api.backing.reading import Content, read_copy
from api.backing.shelf import UNFINISHED, Backup, Shelf
from api.domain.errors import ClampbookError
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork, storage_errors
from api.use_cases.checkpoints import make_checkpoint
from api.use_cases.ports import Means
from api.use_cases.ports.notary import Notary

BUSY = "Another process makes a backup into this folder just now; wait for it to end."
RESTORING = "A backup is being put back just now; wait for it to end."
KEYS = "keys"


def make_backup(place: Place, means: Means, notary: Notary) -> Backup:
    """Raises `BackupFailed` or `Unavailable`; a failure is noted beside the backups."""
    shelf, now = Shelf(place.backups_folder), means.clock.now()
    try:
        with (
            locks.shared(place.data / locks.SERVING, RESTORING),
            locks.alone(shelf.folder / locks.MAKING, BUSY),
        ):
            with closing(Database(place.database)) as database:
                made = _make(shelf, place, database, means, notary)
            if made.good:
                shelf.thin_out(now)
                shelf.forget_failure()
    except (ClampbookError, OSError) as problem:
        why = str(problem)
        if why not in (BUSY, RESTORING):
            _note(shelf, why, now)
        raise
    if not made.good:
        why = (
            f"The records themselves do not fit together: {made.manifest.fault}. The copy "
            f"{made.folder.name} holds them as they are and counts for nothing. Run 'clampbook doctor'."
        )
        _note(shelf, why, now)
        raise BackupFailed(why)
    return made


def _note(shelf: Shelf, why: str, at: dt.datetime) -> None:
    try:
        shelf.note_failure(why, at)
    except OSError:
        return  # the folder is what failed, and the first reason is told anyway


def _make(shelf: Shelf, place: Place, database: Database, means: Means, notary: Notary) -> Backup:
    shelf.sweep()
    _require_room(shelf.folder, place, database)
    make_checkpoint(SqlUnitOfWork(database), means, notary, "backup")
    at = means.clock.now()
    name = shelf.name_for(at)
    work = shelf.folder / f"{UNFINISHED}{name}"
    work.mkdir(mode=0o700)
    try:
        copy = copy_database(database.url, work)
        content = read_copy(copy)
        _copy_keys(place.keys, work / KEYS)
        manifest = _manifest(at, database, copy, content, work)
        _finish(work, manifest)
        done = work.rename(shelf.folder / name)
        sync(shelf.folder)
    except BaseException:
        shutil.rmtree(work, ignore_errors=True)
        raise
    if not content.fault:
        with SqlUnitOfWork(database) as uow:
            uow.shop.set_watermark(manifest.seq)
            uow.commit()
    return Backup(done, manifest)


def _require_room(folder: Path, place: Place, database: Database) -> None:
    needed = size_bytes(database.url, _postgres_bytes(database)) + place.least_free_bytes
    free = shutil.disk_usage(folder).free
    if free < needed:
        raise BackupFailed(
            f"The disk of {folder} has {free / 1e6:.0f} MB free; a backup needs "
            f"{needed / 1e6:.0f} MB there. Free some space, or set CLAMPBOOK_BACKUPS to another disk."
        )


def _postgres_bytes(database: Database) -> int:
    if database.is_sqlite:
        return 0
    with storage_errors(), database.reader.connect() as connection:
        query = text("SELECT pg_database_size(current_database())")
        return int(connection.execute(query).scalar_one())


def _copy_keys(keys: Path, to: Path) -> None:
    """For a move to another machine; as secret as the shop itself."""
    to.mkdir(mode=0o700)
    for source in sorted(path for path in keys.rglob("*") if path.is_file()):
        target = to / source.relative_to(keys)
        target.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        target.touch(mode=0o600)
        target.write_bytes(source.read_bytes())


def _manifest(
    at: dt.datetime, database: Database, copy: Path, content: Content, work: Path
) -> Manifest:
    return Manifest(
        made_at=at.astimezone(dt.UTC).isoformat(),
        engine=database.url.get_backend_name(),
        form=content.form,
        epoch=content.epoch,
        seq=content.seq,
        count=content.count,
        head=content.head,
        checkpoint=content.checkpoint,
        copy=copy.name,
        files=hashes_of(work),
        fault=content.fault,
    )


def _finish(work: Path, manifest: Manifest) -> None:
    """All else is on disk before the manifest is."""
    for name in manifest.files:
        sync(work / name)
    path = work / FILE
    path.touch(mode=0o600)
    path.write_text(manifest.text(), encoding="utf-8")
    sync(path)
    for folder in (work / KEYS, work):
        sync(folder)
