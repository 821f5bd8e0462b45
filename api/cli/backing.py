"""`clampbook backup` and `clampbook restore`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from api.backing import make_backup
from api.backing import restore as put_back
from api.cli.output import plainly, say
from api.cli.shop import DataOption, current, make_folder, scripts, settings_from
from api.means import means_for
from api.security.checkpoint_file import open_notary
from api.settings import Settings
from api.use_cases.ports import Means
from api.use_cases.ports.notary import Notary

ADVICE = (
    "Before you go on:\n"
    "- Whoever left the crew, whichever tablet was revoked and whichever PIN was changed after the "
    "backup was made is as it was then. Do these again under Crew before anybody signs in.\n"
    "- Everybody signs in anew; tablets send again what this database lacks. Leave them on the "
    "shop's network until they say that everything is on the server."
)
OutOption = Annotated[
    Path | None, typer.Option(help="Folder to put the backup into  [default: DATA/backups]")
]
ReplaceOption = Annotated[
    bool,
    typer.Option("--replace", help="PostgreSQL: move the tables that are there to another schema"),
]


@plainly
def backup(data: DataOption = None, out: OutOption = None) -> None:
    """Copy the shop while it works, check the copy, and let old copies go."""
    settings = settings_from(data=data, backups=out)
    with current(settings):
        pass
    made = make_backup(settings, *_tools(settings))
    told = made.manifest
    say(
        f"{made.folder} holds {told.count} records up to number {told.seq}, checked.\n"
        "It is as secret as the shop: the keys are in it."
    )


@plainly
def restore(
    folder: Annotated[Path, typer.Argument(help="Folder of the backup, clampbook-...")],
    data: DataOption = None,
    replace: ReplaceOption = False,
) -> None:
    """Put a backup back; what is there now is moved aside, and tablets send what is missing."""
    settings = settings_from(data=data)
    make_folder(settings)
    done = put_back(settings, folder, lambda: _tools(settings), scripts(), replace=replace)
    say(
        f"Restored {folder.name}: {done.manifest.count} records up to number "
        f"{done.manifest.seq}, epoch {done.epoch}."
    )
    if done.aside:
        say(f"The database that was there is kept as {done.aside}.")
    say(ADVICE)


def _tools(settings: Settings) -> tuple[Means, Notary]:
    return means_for(settings), open_notary(settings.keys, settings.checkpoints_folder)
