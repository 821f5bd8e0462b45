"""`clampbook upgrade` and `clampbook dump`."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from dataclasses import asdict
from datetime import date, datetime
from pathlib import Path
from typing import Annotated, Any, TextIO

import typer

from api.cli.output import complaints, plainly, say, stop
from api.cli.shop import (
    DataOption,
    current,
    opened,
    private_file,
    refuse_newer,
    scripts,
    settings_from,
)
from api.domain.stores import MODELS
from api.storage import migrate
from api.storage.unit_of_work import SqlUnitOfWork

PER_READ = 500
Line = dict[str, Any]


@plainly
def upgrade(data: DataOption = None) -> None:
    """Bring the database to the form that this version needs; every record is kept."""
    with opened(settings_from(data=data)) as database:
        refuse_newer(database)
        before = migrate.current(database)
        migrate.upgrade(database, scripts())
        after = migrate.current(database)
    done = (
        "was up to date already" if before == after else f"went from {before or 'empty'} to {after}"
    )
    say(f"The database {done}.")


@plainly
def dump(
    out: Annotated[
        Path | None, typer.Option(help="File to write; standard output if left out")
    ] = None,
    data: DataOption = None,
) -> None:
    """Write the whole shop as JSON lines: events as received, designs with their
    estimates, stores, plates, people.

    PINs, passwords, sessions and keys are left out.
    """
    with current(settings_from(data=data)) as database:
        uow = SqlUnitOfWork(database, read_only=True)
        if out is None:
            _write(uow, sys.stdout)
            return
        if out.is_dir():
            stop(f"{out} is a folder. Name a file to write with --out.")
        with private_file(out) as file:
            count = _write(uow, file)
    complaints.print(f"{count} lines written to {out}.", markup=False)


def _write(uow: SqlUnitOfWork, file: TextIO) -> int:
    count = 0
    with uow:
        for line in lines(uow):
            file.write(json.dumps(line, ensure_ascii=False, default=_plain) + "\n")
            count += 1
    return count


def lines(uow: SqlUnitOfWork) -> Iterator[Line]:
    """The shop, one thing per line; each line's `line` says what it is."""
    yield {"line": "shop", **asdict(uow.shop.meta())}
    for person in uow.people.all():
        yield {"line": "person", **person.model_dump(mode="json")}
    for revision in uow.designs.all():
        yield {"line": "revision", **asdict(revision)}
        computed = uow.analyses.of(revision.code, revision.revision)
        if computed is not None:
            yield {"line": "analysis", **asdict(computed)}
    for plate in uow.plates.all():
        yield {"line": "plate", **plate.model_dump(mode="json")}
        yield from ({"line": "hold", **asdict(hold)} for hold in uow.plates.holds(plate.serial))
    yield from _items(uow)
    yield from ({"line": "tablet", **asdict(tablet)} for tablet in uow.tablets.all())
    yield from _log(uow)


def _items(uow: SqlUnitOfWork) -> Iterator[Line]:
    for kind in MODELS:
        for item in uow.items.current(kind):
            for version in uow.items.history(kind, item.key):
                yield {"line": "item", **asdict(version)}


def _log(uow: SqlUnitOfWork) -> Iterator[Line]:
    seq = 0
    while batch := uow.events.after(seq, PER_READ):
        yield from ({"line": "event", **asdict(event)} for event in batch)
        seq = batch[-1].seq
    for signature in uow.signatures.of_setups(uow.events.setups()):
        yield {"line": "signature", **asdict(signature)}
    page = 1
    while True:
        found = uow.events.set_asides(page, PER_READ)
        yield from ({"line": "set aside", **asdict(item)} for item in found.items)
        if page >= found.pages:
            return
        page += 1


def _plain(value: object) -> str:
    if isinstance(value, date | datetime):
        return value.isoformat()
    raise TypeError(f"{type(value).__name__} has no JSON form")
