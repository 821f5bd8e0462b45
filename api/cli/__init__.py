"""The `clampbook` command."""

import typer

from api.cli import designs, doctor, records, serving

app = typer.Typer(
    help="Fixture-plate setup and torque checklist.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
app.command()(serving.demo)
app.command()(serving.serve)
app.command()(designs.load)
app.command()(designs.check)
app.command()(records.upgrade)
app.command()(records.dump)
app.command()(doctor.doctor)
