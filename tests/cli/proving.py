"""Runs `clampbook verify` and the independent verifier over one shop."""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from unittest import mock

from typer.testing import CliRunner, Result

from api.cli import app
from tests.support import verifier
from tests.support.postgres import create_database, drop_database, new_address
from tests.support.proving import Place


class Verify:
    """Calling it verifies the live database."""

    def __init__(self, place: Place, folder: Path) -> None:
        self.place, self.folder = place, folder
        self._url = str(place.settings.database_url)
        self._copies: list[str] = []

    def __call__(self) -> Result:
        return self.run("verify")

    def run(self, *words: object, url: str = "") -> Result:
        environment = {**os.environ, "CLAMPBOOK_DATABASE_URL": url or self._url}
        data = ["--data", str(self.place.settings.data)]
        with mock.patch.dict(os.environ, environment):
            return CliRunner().invoke(app, [*map(str, words), *data])

    def dump(self) -> Path:
        out = self.folder / "shop.jsonl"
        result = self.run("dump", "--out", out)
        assert result.exit_code == 0, result.output
        return out

    def file(self, file: Path) -> Result:
        return self.run("verify", file)

    def dumped_alone(self) -> Result:
        return CliRunner().invoke(app, ["verify", str(self.dump())])

    def everywhere(self) -> str:
        """The fault that the independent verifier finds in a dump; the command must agree."""
        out = self.dump()
        ours = self.file(out)
        theirs = verifier.first_fault(out, self.place.folder)
        assert bool(theirs) == bool(ours.exit_code), (ours.output, theirs)
        return theirs

    def copy_of_database(self) -> str:
        """A copy beside, as a backup would be."""
        self.place.database.close()
        if self.place.database.is_sqlite:
            file = Path(str(self.place.database.url.database))
            return str(shutil.copy(file, file.with_suffix(".copy")))
        copy = new_address(f"{self._url.rpartition('/')[0]}/")
        create_database(copy, like=self._url)
        self._copies.append(copy)
        return copy

    def put_back(self, copy: str) -> None:
        self.place.database.close()
        if self.place.database.is_sqlite:
            shutil.copy(copy, Path(str(self.place.database.url.database)))
            return
        drop_database(self._url)
        create_database(self._url, like=copy)

    def close(self) -> None:
        for copy in self._copies:
            drop_database(copy)
