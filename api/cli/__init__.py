"""The `clampbook` command."""

import typer

from api.cli.backing import backup, restore
from api.cli.checking import check
from api.cli.doctor import doctor
from api.cli.dumping import dump
from api.cli.loading import load
from api.cli.records import upgrade
from api.cli.serving import demo, serve
from api.cli.verifying import verify

app = typer.Typer(
    help="Fixture-plate setup and torque checklist.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
for command in (demo, serve, load, check, upgrade, backup, restore, dump, verify, doctor):
    app.command()(command)
