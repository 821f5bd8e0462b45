"""`clampbook check`: what stands against a design file, and what its computation says."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

import typer
from rich.progress import BarColumn, Progress, TextColumn

from api.cli.designs import read_file, shelf_of
from api.cli.output import complaints, console, plainly, say, stop
from api.cli.printing import print_findings, print_result
from api.cli.report import ReportError, write_report
from api.cli.shop import DataOption, settings_from
from api.domain.analyses.guide import Analysis
from api.domain.analyses.result import Result, check_of, uncomputed
from api.domain.designs import Design, Finding, Reading, read_design
from api.domain.stores import Stores
from api.pictures.facts import counted_findings
from api.use_cases.analysis import analyse

STOPPED, UNREADABLE = 1, 2
Told = Callable[[str, float], None]
Analyse = Callable[[Design, Stores, Sequence[Finding], Told], Analysis]


@dataclass(frozen=True)
class Checked:
    """A file read and, where it gives a design, analysed; `method` is empty where it was not."""

    reading: Reading
    result: Result
    method: str

    @property
    def status(self) -> int:
        if self.reading.unreadable:
            return UNREADABLE
        return STOPPED if self.result.stops else 0

    def to_json(self) -> dict[str, Any]:
        """The result, with null for design and revision where the file gives none."""
        shown: dict[str, Any] = self.result.model_dump(mode="json")
        if self.reading.design is None:
            shown |= {"design": None, "revision": None}
        return shown


@plainly
def check(
    file: Annotated[Path, typer.Argument(help="Design file (TOML)", show_default=False)],
    as_json: Annotated[bool, typer.Option("--json", help="Print the result as JSON")] = False,
    report: Annotated[
        Path | None,
        typer.Option(help="Write a page to read and print, in one HTML file", show_default=False),
    ] = None,
    data: DataOption = None,
) -> None:
    """Compute a design and say what stands against it. Status 0: no stop; 1: stops; 2: not readable."""
    text = read_file(file, UNREADABLE)
    stores, origin = shelf_of(settings_from(data=data))
    checked = checked_of(read_design(text, file.name, stores), stores, analyse)
    if as_json:
        print(json.dumps(checked.to_json(), ensure_ascii=False, indent=1))  # noqa: T201
    else:
        _print(file, checked, origin)
    if report is not None:
        _report(report, file, checked, stores, quiet=as_json)
    raise typer.Exit(checked.status)


def checked_of(reading: Reading, stores: Stores, compute: Analyse) -> Checked:
    """What the file says and what is computed from it; without a design, the findings alone."""
    if reading.design is None:
        return Checked(reading, uncomputed([*map(check_of, reading.findings)]), "")
    with _progress() as told:
        analysis = compute(reading.design, stores, reading.findings, told)
    return Checked(reading, analysis.result, analysis.method)


@contextmanager
def _progress() -> Iterator[Told]:
    """A bar where errors go, if a person is looking; it leaves nothing behind."""
    columns = (TextColumn("{task.description}"), BarColumn(complete_style="blue"))
    with Progress(
        *columns, console=complaints, transient=True, disable=not complaints.is_terminal
    ) as bar:
        task = bar.add_task("reading the design", total=1.0)
        yield lambda doing, share: bar.update(task, description=doing, completed=share)


def _print(file: Path, checked: Checked, origin: str) -> None:
    reading = checked.reading
    print_findings(console, checked.result.checks, reading.findings)
    if checked.result.checks:
        say("")
    if reading.unreadable:
        say(f"{file} cannot be read as a design.")
    else:
        say(f"{file}: {counted_findings(checked.result.checks)}. Compared with {origin}.")
    if checked.result.solver is None and not reading.unreadable:
        say("Nothing was computed; mend the stops first.")
    if reading.design is not None:
        print_result(console, checked.result, reading.design)
    for text in checked.result.cautions:
        say(f"\n{text}", style="dim")


def _report(place: Path, file: Path, checked: Checked, stores: Stores, *, quiet: bool) -> None:
    try:
        write_report(place, file, checked.reading.design, checked.result, checked.method, stores)
    except ReportError as error:
        stop(str(error), status=checked.status or STOPPED)
    if not quiet:
        say(f"\nThe report is in {place}.")
