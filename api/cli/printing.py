"""A checked design in the terminal: findings first, then tables, then how it was computed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich import box
from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from api.domain.analyses.result import Check, Result, worst_first
from api.domain.designs import Design, Finding
from api.pictures.facts import facts, solver_line
from api.pictures.tables import Column, tables
from api.pictures.tables import Table as Figures
from api.pictures.words import said, sentence

LEVEL_STYLES = {"stop": "bold red", "advice": "bold", "note": ""}
FIX_STYLE, SOFT = "blue", "dim"
INDENT = 8
FEW_WORDS = 14
GAP = 2


def print_findings(console: Console, checks: Iterable[Check], findings: Sequence[Finding]) -> None:
    """The worst first: level and sentence, then what to do, then where in the file."""
    places = {(one.code, one.subject, one.message): one for one in findings}
    for check in worst_first(checks):
        place = places.get((check.code, check.subject, check.message))
        console.print(_finding(check, place))


def print_result(console: Console, result: Result, design: Design) -> None:
    for figures in tables(result, design):
        console.print(_heading(figures.title), Text(figures.note, SOFT), sep="\n")
        console.print(_table(figures, console.width), soft_wrap=True)
    told = facts(result, design)
    if told:
        console.print(_heading("Order, mass and time"), _pairs(told), sep="\n")
    if result.assumed:
        console.print(_heading("Assumed"))
        for text in result.assumed:
            console.print(_hanging("-", Text(sentence(text))))
    own = solver_line(result)
    if own:
        console.print(_heading("The computation's own checks"), Text(own), sep="\n")


def _finding(check: Check, place: Finding | None) -> RenderableType:
    lines: list[Text] = [Text(said(check), "bold" if check.level != "note" else "")]
    if check.fix:
        lines.append(Text(sentence(check.fix), FIX_STYLE))
    if place is not None and (place.line or place.field):
        where = [f"line {place.line}"] if place.line else []
        lines.append(Text(", ".join([*where, *([place.field] if place.field else [])]), SOFT))
    return _hanging(check.level, Group(*lines), LEVEL_STYLES[check.level])


def _hanging(lead: str, content: RenderableType, style: str = "") -> RenderableType:
    grid = Table.grid(padding=(0, 1, 0, 0))
    grid.add_column(width=INDENT - 1 if len(lead) > 1 else 1, no_wrap=True)
    grid.add_column(overflow="fold")
    grid.add_row(Text(lead, style), content)
    return grid


def _heading(title: str) -> RenderableType:
    return Padding(Text(title, "bold underline"), (1, 0, 0, 0))


def _pairs(pairs: Iterable[tuple[str, str]]) -> Table:
    grid = Table.grid(padding=(0, 2, 0, 0))
    grid.add_column(style=SOFT)
    grid.add_column(overflow="fold")
    for name, value in pairs:
        grid.add_row(name, Text(value))
    return grid


def _table(figures: Figures, room: int) -> Table:
    """Numbers are never broken; heads are, at their words, with the unit in a line of its own."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0), show_edge=False)
    for column, width in zip(figures.columns, _widths(figures, room), strict=True):
        table.add_column(
            Text(_head(column)),
            justify="right" if column.number else "left",
            vertical="bottom",
            overflow="fold",
            width=width,
        )
    for row in figures.rows:
        table.add_row(*map(Text, row))
    return table


def _head(column: Column) -> str:
    return f"{column.head}\n{column.unit}" if column.unit else column.head


def _widths(figures: Figures, room: int) -> list[int]:
    """As wide as the texts, then narrower letter by letter where most can be saved."""
    cells = [[row[number] for row in figures.rows] for number in range(len(figures.columns))]
    texts = [[*_head(c).split("\n"), *own] for c, own in zip(figures.columns, cells, strict=True)]
    widths = [max(map(len, lines)) for lines in texts]
    least = [_narrowest(c, own) for c, own in zip(figures.columns, cells, strict=True)]
    while sum(widths) + GAP * (len(widths) - 1) > room and widths != least:
        most = max(range(len(widths)), key=lambda k: widths[k] - least[k])
        widths[most] -= 1
    return widths


def _narrowest(column: Column, cells: Sequence[str]) -> int:
    """Numbers and words stay whole; a few words in a cell do as well, as far as there is room."""
    whole = max(map(len, cells))
    words = max(len(word) for text in (*cells, _head(column)) for word in text.split())
    return max(whole, words) if column.number else max(min(whole, FEW_WORDS), words)
