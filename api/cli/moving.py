"""A whole shop out of a dump into an empty database: all of it, verified, or nothing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import closing
from pathlib import Path

from api.cli.output import say, stop
from api.cli.shop import make_folder, require_newest, scripts
from api.cli.verifying import dump_lines, told
from api.cli.watching import watched
from api.domain.checkpoints import Checkpoint, parse_checkpoint
from api.domain.errors import BadInput
from api.domain.proof import Examination, Fault, Findings, Line
from api.domain.proof.witnesses import read_outside
from api.security.checkpoint_file import CheckpointFile
from api.security.signing import KnownKeys
from api.security.tablet_keys import TabletKeys
from api.settings import Settings
from api.storage import migrate, rows
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases.proof import project_all

FILLED = (
    "This database holds a shop already; a dump goes into an empty one. Name a new folder with "
    "--data FOLDER, or an empty database with CLAMPBOOK_DATABASE_URL."
)
KEYS = (
    "Before the first start, copy the old shop's folder 'keys' to {keys}: without it PINs that "
    "tablets have sealed cannot be opened, and checkpoints are signed by a new key. Let the old "
    "server rest from now on: two that go on from here would contradict each other."
)
NOBODY = (
    "The dump holds no PINs and passwords, so nobody can sign in. To move a shop, make it with "
    "'clampbook dump --with-secrets'."
)


def load_shop(settings: Settings, file: Path) -> None:
    """Puts the dump into the empty database of these settings; ends the command if it cannot."""
    make_folder(settings)
    with closing(Database(settings.database)) as database:
        if migrate.current(database) is None:
            migrate.upgrade(database, scripts())
        require_newest(database)
        outside = CheckpointFile(settings.checkpoints_folder)
        loading = _Loading(settings, outside)
        try:
            found = loading.put_in(SqlUnitOfWork(database), dump_lines(file))
        except Fault as fault:
            stop(f"{fault}. Nothing was loaded: take the dump as it was made.")
    say(f"The shop of {file} is in this database.")
    for sentence in told(found, outside):
        say(sentence)
    if not loading.secrets:
        say(NOBODY)
    say(KEYS.format(keys=settings.keys))


class _Loading:
    """One dump on its way in."""

    def __init__(self, settings: Settings, outside: CheckpointFile) -> None:
        self.secrets = False
        self._file = outside
        self._published = read_outside(outside.lines()) or None
        folders = [outside.folder, settings.keys]
        self._keys = KnownKeys(folders, take_stated=self._published is None)
        self._told: list[Checkpoint] = []

    def put_in(self, uow: SqlUnitOfWork, lines: Iterable[Line]) -> Findings:
        examination = Examination(TabletKeys().signed, self._keys.signed, self._published)
        with uow:
            uow.events.lock()
            if not rows.is_empty(uow.connection):
                stop(FILLED)
            seen = self._seen(lines, examination, rows.form(uow.connection))
            rows.insert(uow.connection, (dict(line) for line in watched(seen, "loaded")))
            found = examination.finish()
            project_all(uow)
            self._publish()
            uow.commit()
        return found

    def _seen(self, lines: Iterable[Line], by: Examination, form: str) -> Iterator[Line]:
        for line in lines:
            match line["line"]:
                case "shop":
                    self.secrets = line["secrets"]
                    _require_form(line["form"], form)
                case "signing key":
                    self._keys.state(line["public"])
                case "entry" if line["kind"] == "checkpoint":
                    self._told.append(parse_checkpoint(line["body"]))
            by.take(line)
            yield line

    def _publish(self) -> None:
        """A new place begins its file with the dump's checkpoints, before the shop is in."""
        if self._published is None:
            for one in self._told:
                self._file.add(one, self._keys.by_name[one.key])


def _require_form(theirs: str, ours: str) -> None:
    if theirs == ours:
        return
    known = theirs in migrate.revisions(scripts())
    what = (
        "by an older Clampbook. Load it with that version, then run 'clampbook upgrade'"
        if known
        else "by a newer Clampbook. Install that version"
    )
    raise BadInput(f"This dump was written {what} (its form is {theirs}; here it is {ours}).")
