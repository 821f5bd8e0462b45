"""Putting a copy back: checked first, in a new epoch, with what was there moved aside."""

from __future__ import annotations

import datetime as dt
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy.engine import make_url

from api.backing import locks
from api.backing.copying import sync
from api.backing.emptying import emptied
from api.backing.making import KEYS
from api.backing.manifest import Manifest, altered, read_manifest
from api.backing.place import BackupFailed, Place
from api.backing.postgres import put_back
from api.backing.reading import read_copy
from api.storage import migrate
from api.storage.engine import Database, sqlite_url
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases.checkpoints import begin_epoch
from api.use_cases.ports import Means
from api.use_cases.ports.notary import Notary

STAGED = ".restoring-"
STAMP = "%Y%m%dT%H%M%SZ"
SIDE_FILES = ("", "-wal", "-shm")
RUNNING = (
    "A server, a backup or another restore works on {data} now. Stop it first; "
    "a database that is in use cannot be replaced."
)
Tools = Callable[[], tuple[Means, Notary]]


@dataclass(frozen=True)
class Restored:
    """`aside` is where the database that was there before lies now; empty if there was none."""

    manifest: Manifest
    epoch: str
    aside: str


def restore(
    place: Place, folder: Path, tools: Tools, scripts: Path, *, replace: bool = False
) -> Restored:
    """Raises `BackupFailed` before anything is changed when the copy or the place does not fit.

    `tools` makes keys where there are none, so it is called after the copy's own are in place.
    """
    manifest = checked(folder, make_url(place.database).get_backend_name(), scripts)
    with locks.alone(place.data / locks.SERVING, RUNNING.format(data=place.data)):
        _put_keys(folder / KEYS, place.keys)
        means, notary = tools()
        steps = _Steps(folder / manifest.copy, folder.name, manifest, means, notary, scripts)
        if manifest.engine == "sqlite":
            file = Path(make_url(place.database).database or "")
            epoch, aside = steps.into_file(file)
        else:
            epoch, aside = steps.into_postgres(place.database, replace)
    return Restored(manifest, epoch, aside)


def checked(folder: Path, engine: str, scripts: Path) -> Manifest:
    """The manifest of a copy that is whole, fits this engine, and whose chain holds."""
    manifest = read_manifest(folder)
    if manifest.fault:
        raise BackupFailed(
            f"The records in {folder.name} do not fit together: {manifest.fault}. Use another."
        )
    wrong = altered(folder, manifest)
    if wrong:
        raise BackupFailed(f"{folder.name} cannot be used: {wrong}. Use another backup.")
    if manifest.engine != engine:
        raise BackupFailed(
            f"{folder.name} is a copy of a {manifest.engine} database, and the settings name a "
            f"{engine} one. Set CLAMPBOOK_DATABASE_URL to fit it."
        )
    if manifest.form not in migrate.revisions(scripts):
        raise BackupFailed(
            f"{folder.name} was made by a newer Clampbook (form {manifest.form}). Install that version."
        )
    content = read_copy(folder / manifest.copy)
    told = (manifest.seq, manifest.head, manifest.count, manifest.epoch)
    if content.fault or (content.seq, content.head, content.count, content.epoch) != told:
        raise BackupFailed(
            f"{folder.name} does not hold what its manifest says"
            f"{f' ({content.fault})' if content.fault else ''}. Use another backup."
        )
    return manifest


@dataclass(frozen=True)
class _Steps:
    copy: Path
    name: str
    manifest: Manifest
    means: Means
    notary: Notary
    scripts: Path

    def into_file(self, file: Path) -> tuple[str, str]:
        """All is done to a file beside, which takes the database's place in one step at the end."""
        file.parent.mkdir(parents=True, exist_ok=True)
        for left in file.parent.glob(f"{STAGED}*"):
            left.unlink()
        staged = file.with_name(f"{STAGED}{file.name}")
        staged.touch(mode=0o600)
        shutil.copyfile(self.copy, staged)
        with closing(Database(sqlite_url(staged))) as database:
            epoch = self._begin(database)
        _make_single(staged)
        sync(staged)
        aside = self._move_aside(file)
        staged.replace(file)
        sync(file.parent)
        return epoch, aside

    def into_postgres(self, address: str, replace: bool) -> tuple[str, str]:
        with closing(Database(address)) as database:
            with emptied(database, f"{self._now():{STAMP}}".lower(), replace) as aside:
                put_back(self.copy, database.url)
            return self._begin(database), aside

    def _begin(self, database: Database) -> str:
        """The new epoch; nobody stays signed in, and tablets send what this database lacks."""
        if migrate.current(database) != migrate.newest(self.scripts):
            migrate.upgrade(database, self.scripts)
        uow, told = SqlUnitOfWork(database), {"backup": self.name, "made_at": self.manifest.made_at}
        made = begin_epoch(uow, self.means, self.notary, None, told)
        with uow:
            for person in uow.people.all():
                uow.sessions.end_all_of(person.badge)
            uow.tablets.end_sessions()
            # One used after the copy was made would be good again.
            uow.tablets.end_codes(self._now() + dt.timedelta(days=1))
            uow.shop.set_watermark(self.manifest.seq)
            uow.commit()
        return made.epoch

    def _move_aside(self, file: Path) -> str:
        """Keeps the present database, whatever state it is in."""
        if not file.exists():
            return ""
        folder = file.with_name(f"replaced-{self._now():{STAMP}}")
        folder.mkdir(mode=0o700)
        _try_single(file)
        for side in SIDE_FILES[1:]:
            beside = Path(f"{file}{side}")
            if beside.exists():
                beside.rename(folder / beside.name)
        try:
            (folder / file.name).hardlink_to(file)
        except OSError:
            file.rename(folder / file.name)
        sync(folder)
        return str(folder)

    def _now(self) -> dt.datetime:
        return self.means.clock.now().astimezone(dt.UTC)


def _make_single(file: Path) -> None:
    """Everything in the file itself, nothing in the side files of a database in use."""
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("PRAGMA journal_mode = DELETE").fetchall()


def _try_single(file: Path) -> None:
    try:
        _make_single(file)
    except sqlite3.Error:
        return  # damaged: its side files are moved as they are


def _put_keys(source: Path, keys: Path) -> None:
    """Those that are missing; a key in use here is never replaced by an older one."""
    for path in sorted(one for one in source.rglob("*") if one.is_file()):
        target = keys / path.relative_to(source)
        if target.exists():
            continue
        target.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        target.touch(mode=0o600)
        target.write_bytes(path.read_bytes())
        sync(target)
