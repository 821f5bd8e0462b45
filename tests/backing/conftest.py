"""A shop with records in a data folder, on both engines, and its backups."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from api.backing import Backup, Shelf, make_backup, restore
from api.backing.restoring import Restored
from api.paths import share
from api.security.checkpoint_file import open_notary
from api.settings import Settings
from tests.support.script import Tablet
from tests.support.shop import STEPS, Shop, make_shop


@dataclass
class Kept:
    """`close` lets go of the database, which a restore wants for itself."""

    shop: Shop
    settings: Settings

    @property
    def shelf(self) -> Shelf:
        return Shelf(self.settings.backups_folder)

    def backup(self) -> Backup:
        notary = open_notary(self.settings.keys, self.settings.checkpoints_folder)
        return make_backup(self.settings, self.shop.means, notary)

    def restore(self, folder: Path, *, replace: bool = True) -> Restored:
        self.shop.database.close()
        notary = open_notary(self.settings.keys, self.settings.checkpoints_folder)
        tools = self.shop.means, notary
        return restore(self.settings, folder, lambda: tools, share("migrations"), replace=replace)

    def work(self, name: str, setup: str) -> Tablet:
        """A tablet that has sent half a setup."""
        tablet = self.shop.tablet(name, setup=setup)
        tablet.open()
        list(tablet.work(STEPS[:6]))
        self.shop.push(tablet)
        return tablet


@pytest.fixture
def kept(new_database_url: str, tmp_path: Path) -> Iterator[Kept]:
    settings = Settings(data=tmp_path / "data", database_url=new_database_url, least_free_bytes=0)
    shop = make_shop(settings.database, settings.keys)
    yield Kept(shop, settings)
    shop.database.close()
