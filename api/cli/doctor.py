"""`clampbook doctor`: is this shop's data sound, and what to do if not."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Annotated

import typer

from api.cli.doctoring import Answer, examine
from api.cli.output import console, plainly, say
from api.cli.shop import DataOption, opened, settings_from

JsonOption = Annotated[bool, typer.Option("--json", help="One JSON array, for programs")]


@plainly
def doctor(data: DataOption = None, as_json: JsonOption = False) -> None:
    """Check the machine, the database, the records, the certificate and the backups;
    1 if one needs attention."""
    settings = settings_from(data=data)
    answers = []
    with opened(settings) as database:
        for answer in examine(settings, database):
            answers.append(answer)
            if not as_json:
                _print(answer)
    if as_json:
        told = [{"ok": not one.todo, **asdict(one)} for one in answers]
        typer.echo(json.dumps(told, ensure_ascii=False, indent=1))
    raise typer.Exit(any(answer.todo for answer in answers))


def _print(answer: Answer) -> None:
    word = "[bold]attention[/]" if answer.todo else "ok       "
    console.print(f"{word}  {answer.subject:18}  ", end="")
    say(answer.found)
    if answer.todo:
        say(f"{'':31}{answer.todo}")
