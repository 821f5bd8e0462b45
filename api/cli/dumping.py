"""`clampbook dump`: the whole shop as lines of canonical JSON."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated, TextIO

import typer

from api.cli.output import complaints, plainly, stop
from api.cli.shop import DataOption, current, private_file, settings_from
from api.cli.watching import watched
from api.domain.dump import text_of
from api.security.signing import known_keys
from api.settings import Settings
from api.storage import rows
from api.storage.unit_of_work import SqlUnitOfWork

WITHOUT = (
    "PINs and passwords are not in it: it can be read and verified, and nobody could sign in "
    "where it is loaded. Use --with-secrets to move the shop."
)
WITH = "It holds the hashes of PINs and passwords. Keep it as safe as the shop itself."
MORE = "Not in it: the shop's private keys (copy the folder {keys}), sessions, and enrolment codes."


@plainly
def dump(
    out: Annotated[
        Path | None, typer.Option(help="File to write; standard output if left out")
    ] = None,
    secrets: Annotated[
        bool, typer.Option("--with-secrets", help="Also the hashes of PINs and passwords")
    ] = False,
    data: DataOption = None,
) -> None:
    """Write the whole shop as JSON lines: events as received, journal, designs with their
    estimates, stores, plates, people, tablets.

    'clampbook verify FILE' checks it, 'clampbook load FILE' moves it into an empty database.
    """
    settings = settings_from(data=data)
    with current(settings) as database:
        uow = SqlUnitOfWork(database, read_only=True)
        if out is None:
            _write(uow, settings, sys.stdout, secrets)
            return
        if out.is_dir():
            stop(f"{out} is a folder. Name a file to write with --out.")
        with private_file(out) as file:
            count = _write(uow, settings, file, secrets)
    complaints.print(f"{count} lines written to {out}.", markup=False)
    complaints.print(WITH if secrets else WITHOUT, markup=False)
    complaints.print(MORE.format(keys=settings.keys), markup=False)


def _write(uow: SqlUnitOfWork, settings: Settings, file: TextIO, secrets: bool) -> int:
    keys = known_keys([settings.checkpoints_folder, settings.keys])
    count = 0
    with uow:
        for line in watched(rows.lines(uow.connection, secrets=secrets, keys=keys), "written"):
            file.write(f"{text_of(line)}\n")
            count += 1
    return count
