"""`clampbook check` and `clampbook load`: design files at the command line."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterable
from pathlib import Path
from typing import Annotated, Any

import typer
from rich.table import Table
from rich.text import Text

from api.cli.output import complaints, console, plainly, say, stop
from api.cli.shop import DataOption, current, database_file, settings_from
from api.domain.cautions import CAUTIONS
from api.domain.designs.findings import Finding
from api.domain.designs.reading import Reading, read_design
from api.domain.errors import ClampbookError
from api.domain.people import Action, Person, may
from api.domain.stores import Stores
from api.paths import share
from api.security.wiring import means_for
from api.settings import Settings
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases import stores
from api.use_cases.demo.stores import demo_stores
from api.use_cases.designs import load_design
from api.use_cases.ports import Means

STOPPED, UNREADABLE = 1, 2
WORST_FIRST = ("stop", "advice", "note")


@plainly
def check(
    file: Annotated[Path, typer.Argument(help="Design file (TOML)", show_default=False)],
    as_json: Annotated[bool, typer.Option("--json", help="Print the findings as JSON")] = False,
    data: DataOption = None,
) -> None:
    """Say what is wrong with a design file. Status 0: no stop; 1: stops; 2: not readable."""
    text = _read(file, UNREADABLE)
    shelf, origin = _stores(settings_from(data=data))
    reading = read_design(text, file.name, shelf)
    if as_json:
        print(json.dumps(_as_json(reading), ensure_ascii=False, indent=1))  # noqa: T201
    else:
        _print(reading.findings)
        say(f"{_verdict(file, reading)} Compared with {origin}.")
        say(f"\n{CAUTIONS}", style="dim")
    if reading.unreadable:
        raise typer.Exit(UNREADABLE)
    raise typer.Exit(STOPPED if reading.stops else 0)


@plainly
def load(
    files: Annotated[list[Path], typer.Argument(help="Design files (TOML)", show_default=False)],
    by: Annotated[
        str,
        typer.Option(
            help="Badge of who loads them  [default: the first who may]", show_default=False
        ),
    ] = "",
    data: DataOption = None,
) -> None:
    """Put design files into the shop as drafts; an engineer releases them under Plates."""
    settings = settings_from(data=data)
    texts = {file: _read(file, STOPPED) for file in files}
    with current(settings) as database:
        uow, means = SqlUnitOfWork(database), means_for(settings)
        person = _engineer(uow, by)
        results = [_load(uow, means, file, text, person) for file, text in texts.items()]
    raise typer.Exit(0 if all(results) else STOPPED)


def _load(uow: SqlUnitOfWork, means: Means, file: Path, text: bytes, person: Person) -> bool:
    try:
        loaded = load_design(uow, means, text, person, file.name)
    except ClampbookError as error:
        complaints.print(f"{file} was not loaded: {error.message}", markup=False)
        return False
    _print(loaded.findings)
    revision = loaded.revision
    if revision is None:
        complaints.print(
            f"{file} was not loaded: mend its stops, then load it again.", markup=False
        )
        return False
    name = f"{revision.code} revision {revision.revision}"
    say(f"{file}: {name} is in the shop ({revision.state}).")
    return True


def _read(file: Path, status: int) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        stop(
            f"{file} cannot be read ({error.strerror}). Check the name and its rights.",
            status=status,
        )


def _stores(settings: Settings) -> tuple[Stores, str]:
    """The shop's own stores if there is a shop, else those of the demonstration."""
    if settings.database_url or database_file(settings).is_file():
        with current(settings) as database:
            uow = SqlUnitOfWork(database, read_only=True)
            with uow:
                return stores.everything(uow), f"the stores of {settings.data}"
    return demo_stores(
        share("seed_data"), dt.datetime.now(dt.UTC).date()
    ), "the demonstration's stores"


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


def _print(findings: Iterable[Finding]) -> None:
    """The findings as a table, the worst first; nothing when there are none."""
    ordered = sorted(findings, key=lambda one: (WORST_FIRST.index(one.level), one.line))
    if not ordered:
        return
    table = Table(box=None, pad_edge=False)
    for heading in ("level", "line", "about", "finding", "what to do"):
        table.add_column(heading, overflow="fold")
    for one in ordered:
        cells = (one.level, str(one.line or ""), one.subject, one.message, one.fix)
        table.add_row(*map(Text, cells))
    console.print(table)


def _verdict(file: Path, reading: Reading) -> str:
    if reading.unreadable:
        return f"{file} cannot be read as a design."
    counts = [(level, sum(one.level == level for one in reading.findings)) for level in WORST_FIRST]
    told = ", ".join(f"{count} {level}{'s' * (count > 1)}" for level, count in counts if count)
    return f"{file}: {told}." if told else f"{file}: nothing to say against it."


def _as_json(reading: Reading) -> dict[str, Any]:
    design = reading.design
    return {
        "design": design.code if design else None,
        "revision": design.revision if design else None,
        "checks": [finding.to_json() for finding in reading.findings],
        "cautions": [CAUTIONS],
    }
