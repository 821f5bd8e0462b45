"""`clampbook doctor`: is this shop's data sound, and what to do if not."""

from __future__ import annotations

import datetime as dt
import json
import shutil
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import typer

from api.cli.output import console, plainly, say
from api.cli.shop import DataOption, opened, scripts, settings_from
from api.domain.proof import first_fault
from api.paths import share
from api.settings import Settings
from api.storage import migrate
from api.storage.engine import Database
from api.storage.triggers import MissingTrigger
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases.proof import written

FREE_BYTES = 500_000_000
EARLIEST_CLOCK = dt.datetime(2026, 11, 1, tzinfo=dt.UTC)
FRONT_END = ("bench.js", "bench.css", "office.js", "office.css", "sw.js", "build.json")


@dataclass(frozen=True)
class Answer:
    """What one check found; `todo` is empty when all is well."""

    subject: str
    found: str
    todo: str = ""


@plainly
def doctor(data: DataOption = None) -> None:
    """Check the data folder, the database, the records and the front end; 1 if one needs attention."""
    settings = settings_from(data=data)
    answers = []
    with opened(settings) as database:
        for answer in examine(settings, database):
            answers.append(answer)
            _print(answer)
    raise typer.Exit(any(answer.todo for answer in answers))


def examine(settings: Settings, database: Database) -> Iterator[Answer]:
    """Every check in turn; those that need readable tables only where there are some."""
    yield folder(settings.data)
    yield disk(settings.data)
    yield front_end(share("web/dist"))
    form = tables(database)
    yield form
    if not form.todo:
        yield guards(database)
        yield from records(database)


def folder(path: Path) -> Answer:
    try:
        with tempfile.TemporaryFile(dir=path):
            pass
    except OSError as error:
        todo = f"Correct the owner and rights of {path}, or the disk it lies on."
        return Answer("data folder", f"{path} cannot be written: {error.strerror}", todo)
    return Answer("data folder", f"{path} can be written")


def disk(path: Path) -> Answer:
    free = shutil.disk_usage(path).free
    todo = "Free some space before the next setup." if free < FREE_BYTES else ""
    return Answer("disk space", f"{free / 1e9:.1f} GB free", todo)


def front_end(dist: Path) -> Answer:
    missing = [name for name in FRONT_END if not (dist / name).is_file()]
    if missing:
        todo = "Install Clampbook again, or run 'python web/build.py' in a checkout."
        return Answer("front end", f"{', '.join(missing)} missing in {dist}", todo)
    build = json.loads((dist / "build.json").read_text())["build"]
    return Answer("front end", f"build {build}")


def tables(database: Database) -> Answer:
    """The revision the tables are at, against the one this version was written for."""
    here, newest = migrate.current(database), migrate.newest(scripts())
    engine = database.url.get_backend_name()
    if here == newest:
        return Answer("database", f"{engine}, form {here}")
    known = here is None or here in migrate.revisions(scripts())
    todo = "Run 'clampbook upgrade'." if known else "Install the newer Clampbook that wrote it."
    return Answer(
        "database", f"{engine}, form {here or 'empty'}; this version needs {newest}", todo
    )


def guards(database: Database) -> Answer:
    try:
        migrate.assert_guarded(database)
    except MissingTrigger as error:
        return Answer("append-only guards", str(error), "Restore the database from a copy.")
    return Answer("append-only guards", "in place")


def records(database: Database) -> Iterator[Answer]:
    """The event log's hashes and chains, and the clock against the newest record."""
    with SqlUnitOfWork(database, read_only=True) as uow:
        fault, count = first_fault(written(uow))
        newest = uow.events.after(uow.events.chain_head()[0] - 1, 1)
    if fault:
        yield Answer(
            "event log", fault, "Keep this database as it is and restore a copy beside it."
        )
    else:
        yield Answer("event log", f"{count} records, every hash and chain fits")
    yield clock(dt.datetime.now(dt.UTC), newest[-1].received_at if newest else None)


def clock(now: dt.datetime, newest: dt.datetime | None) -> Answer:
    found = f"{now:%Y-%m-%d %H:%M:%S} UTC"
    todo = "Set this machine's clock, or let it follow a time server."
    if now < EARLIEST_CLOCK:
        return Answer("clock", f"{found} lies before this version was written", todo)
    if newest is not None and newest > now + dt.timedelta(minutes=1):
        return Answer(
            "clock", f"{found} lies before the newest record ({newest:%Y-%m-%d %H:%M})", todo
        )
    return Answer("clock", found)


def _print(answer: Answer) -> None:
    word = "[bold]attention[/]" if answer.todo else "ok       "
    console.print(f"{word}  {answer.subject:18}  ", end="")
    say(answer.found)
    if answer.todo:
        say(f"{'':31}{answer.todo}")
