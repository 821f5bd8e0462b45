"""Shops for the simulation that can be backed up, put back to a copy, and fail to commit."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Protocol

from api.domain.errors import Unavailable
from api.security.checkpoint_file import open_notary
from api.storage.engine import Database, sqlite_url
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases.checkpoints import begin_epoch, make_checkpoint
from api.use_cases.ports import Means
from api.use_cases.ports.notary import Notary
from tests.support.shop import Shop, SteppedClock, make_shop
from tests.support.sim.doors import CaseDoor, Door


class FailingCommit(SqlUnitOfWork):
    """The commits after `left` more raise, as on a full disk."""

    left = 0

    def commit(self) -> None:
        if type(self).left <= 0:
            raise Unavailable("the disk is full")
        type(self).left -= 1
        super().commit()


class Site(Protocol):
    @property
    def database(self) -> Database: ...

    @property
    def uow(self) -> SqlUnitOfWork: ...

    @property
    def means(self) -> Means: ...

    @property
    def door(self) -> Door: ...

    def back_up(self) -> None: ...

    def restore(self, at: int) -> bool:
        """Puts the shop back to one of its copies; False when there is none."""
        ...

    def restart(self) -> None: ...

    def fail_commits(self, after: int | None) -> bool:
        """Commits raise after so many more, or no longer; False where they cannot be made to."""
        ...


class FileSite:
    """A shop in an SQLite file, its use cases called in this process."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.file = folder, folder / "shop.sqlite3"
        self.shop: Shop = make_shop(sqlite_url(self.file), folder / "keys")
        self.notary: Notary = open_notary(folder / "keys", folder / "checkpoints")
        self.door = CaseDoor(self.shop.database, self.shop.means)
        self.copies: list[Path] = []

    @property
    def database(self) -> Database:
        return self.shop.database

    @property
    def uow(self) -> SqlUnitOfWork:
        return self.shop.uow

    @property
    def means(self) -> Means:
        return self.shop.means

    @property
    def clock(self) -> SteppedClock:
        return self.shop.clock

    def back_up(self) -> None:
        make_checkpoint(self.uow, self.means, self.notary, "backup")
        copy = self.folder / f"copy-{len(self.copies)}.sqlite3"
        copy_file(self.file, copy)
        self.copies.append(copy)
        with self.uow as uow:
            uow.shop.set_watermark(uow.events.head())
            uow.commit()

    def restore(self, at: int) -> bool:
        if not self.copies:
            return False
        copy = self.copies[at % len(self.copies)]
        self.database.close()
        copy_file(copy, self.file)
        self._open()
        begin_epoch(self.uow, self.means, self.notary, None, {"copy": copy.name})
        return True

    def restart(self) -> None:
        self.database.close()
        self._open()

    def fail_commits(self, after: int | None) -> bool:
        self.door.writer = SqlUnitOfWork if after is None else FailingCommit
        FailingCommit.left = after or 0
        return True

    def close(self) -> None:
        self.database.close()

    def _open(self) -> None:
        self.shop.database = self.door.database = Database(sqlite_url(self.file))


def copy_file(source: Path, target: Path) -> None:
    """One SQLite file's content put into another, by the engine itself; nobody else writes."""
    with closing(sqlite3.connect(source)) as found, closing(sqlite3.connect(target)) as made:
        found.backup(made)
