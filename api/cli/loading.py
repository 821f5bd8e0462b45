"""`clampbook load`: design files into the shop, computed while one waits; or a whole shop."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn

from api.analysing import OwnProcess
from api.cli.designs import read_file
from api.cli.moving import load_shop
from api.cli.output import complaints, console, plainly, say, stop
from api.cli.printing import print_findings
from api.cli.shop import DataOption, current, settings_from
from api.domain.analyses.result import Result, check_of, worst_first
from api.domain.analyses.verdict import conclusion_of
from api.domain.dump import looks_like_dump
from api.domain.errors import ClampbookError
from api.domain.people import Action, Person, may
from api.domain.records import Computation, Revision
from api.means import means_for
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases import analyses
from api.use_cases.designs import load_design
from api.use_cases.ports import Means

STOPPED = 1
MOST_SHOWN = 5
BEGINNING = 4096


@plainly
def load(
    files: Annotated[
        list[Path],
        typer.Argument(help="Design files (TOML), or one dump", show_default=False),
    ],
    by: Annotated[
        str,
        typer.Option(
            help="Badge of who loads them  [default: the first who may]", show_default=False
        ),
    ] = "",
    data: DataOption = None,
) -> None:
    """Put design files into the shop as drafts, with their estimates; engineers release them.

    A dump of a whole shop goes into an empty database instead.
    """
    settings = settings_from(data=data)
    dumps = [file for file in files if _is_dump(file)]
    if dumps:
        if len(files) > 1:
            stop(f"{dumps[0]} is the dump of a whole shop. Load it alone.")
        load_shop(settings, dumps[0])
        return
    texts = {file: read_file(file, STOPPED) for file in files}
    with current(settings) as database:
        uow, means = SqlUnitOfWork(database), means_for(settings, OwnProcess())
        person = _engineer(uow, by)
        results = [_load(uow, means, file, text, person) for file, text in texts.items()]
    raise typer.Exit(0 if all(results) else STOPPED)


def _load(uow: SqlUnitOfWork, means: Means, file: Path, text: bytes, person: Person) -> bool:
    try:
        loaded = load_design(uow, means, text, person, file.name)
    except ClampbookError as error:
        complaints.print(f"{file} was not loaded: {error.message}", markup=False)
        return False
    print_findings(console, map(check_of, loaded.findings), loaded.findings)
    revision = loaded.revision
    if revision is None:
        complaints.print(
            f"{file} was not loaded: mend its stops, then load it again.", markup=False
        )
        return False
    name = f"{revision.code} revision {revision.revision}"
    say(f"{file}: {name} is in the shop ({revision.state}).")
    return revision.state != "draft" or _compute(uow, means, revision)


def _compute(uow: SqlUnitOfWork, means: Means, revision: Revision) -> bool:
    """Computes it unless that is done, and says what came of it."""
    job = analyses.take(uow, means, revision.code, revision.revision)
    if job is not None:
        ended = _with_a_bar(uow, means, job)
        if ended.state != "done":
            complaints.print(analyses.state_words(ended), markup=False)
            return False
    analysis = analyses.standing_of(uow, means, revision).analysis
    return analysis is not None and _print_conclusion(analysis.result)


def _with_a_bar(uow: SqlUnitOfWork, means: Means, job: analyses.Job) -> Computation:
    columns = (TextColumn("Computing"), BarColumn(), TaskProgressColumn())
    with Progress(*columns, TextColumn("{task.description}"), console=console) as bar:
        task = bar.add_task("", total=1.0)

        def show(words: str, share: float) -> None:
            bar.update(task, completed=share, description=words)

        return analyses.carry_out(uow, means, job, show)


def _print_conclusion(result: Result) -> bool:
    """The conclusion with the worst findings; whether none of them is a stop."""
    say(conclusion_of(result).words, style="bold")
    worst = worst_first(result.checks)
    print_findings(console, worst[:MOST_SHOWN], ())
    if len(worst) > MOST_SHOWN:
        say(f"{len(worst) - MOST_SHOWN} more on its page under Plates.")
    say("Estimates, not measurements.", style="dim")
    return not result.stops


def _is_dump(file: Path) -> bool:
    """By what it holds, whatever its name is."""
    try:
        with file.open("rb") as opened:
            return looks_like_dump(opened.read(BEGINNING).decode(errors="replace"))
    except OSError:
        return False


def _engineer(uow: SqlUnitOfWork, badge: str) -> Person:
    with uow:
        people = uow.people.all()
    able = [person for person in people if may(person, Action.EDIT_DESIGNS)]
    if not badge and able:
        return able[0]
    named = next((person for person in people if person.badge == badge), None)
    if named is None:
        stop(
            f"There is no badge {badge} in this shop. Choose one with --by BADGE."
            if badge
            else "Nobody in this shop may load designs. Give someone the role engineer under Crew."
        )
    return named
