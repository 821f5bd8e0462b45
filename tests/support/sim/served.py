"""A shop behind a real server process, on either engine, backed up and restored by its own commands."""

from __future__ import annotations

from pathlib import Path

from api.backing import Shelf, make_backup, restore
from api.means import means_for
from api.paths import share
from api.security.checkpoint_file import open_notary
from api.settings import Settings
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases.ports import Means
from api.use_cases.ports.notary import Notary
from tests.support.server import Server
from tests.support.shop import make_shop
from tests.support.sim.doors import HttpDoor


class ServedSite:
    """Started at once; `restart` is a power cut (SIGKILL)."""

    def __init__(self, folder: Path, url: str = "") -> None:
        self.settings = Settings(data=folder / "data", database_url=url)
        made = make_shop(self.settings.database, self.settings.keys)
        made.database.close()
        self.database = Database(self.settings.database)
        self.means: Means = means_for(self.settings)
        self.notary = open_notary(self.settings.keys, self.settings.checkpoints_folder)
        self.server = Server(self.settings.data, database_url=url).start()
        self.door = HttpDoor(self.server.url)
        self.shelf = Shelf(self.settings.backups_folder)

    @property
    def uow(self) -> SqlUnitOfWork:
        return SqlUnitOfWork(self.database)

    def back_up(self) -> None:
        """The program's own backup, while the server works."""
        make_backup(self.settings, self.means, self.notary)

    def restore(self, at: int) -> bool:
        """The program's own restore of one of the backups, after a power cut."""
        copies = self.shelf.all()
        if not copies:
            return False
        self.server.kill()
        self.database.close()
        folder = copies[at % len(copies)].folder
        restore(self.settings, folder, self._tools, share("migrations"), replace=True)
        self.server.start()
        return True

    def restart(self) -> None:
        self.server.kill()
        self.server.start()

    def fail_commits(self, after: int | None) -> bool:
        return False

    def close(self) -> None:
        self.server.kill()
        self.door.close()
        self.database.close()

    def _tools(self) -> tuple[Means, Notary]:
        return self.means, self.notary
