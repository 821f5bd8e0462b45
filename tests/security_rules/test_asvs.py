"""The table of ASVS 5 in DEVELOPERS.md: every line of level 2 once, and every test it names is there."""

from __future__ import annotations

import ast
import re
from dataclasses import dataclass
from functools import cache

from tests.support.checkout import ROOT

PAGE = ROOT / "DEVELOPERS.md"
JUDGED = ("yes", "partly", "no", "none")
# How many requirements of level 1 and 2 each section has, and which numbers, where some are level 3.
SECTIONS: dict[str, str] = {
    "1.1": "1-2",
    "1.2": "1-9",
    "1.3": "1-11",
    "1.4": "1-3",
    "1.5": "1-2",
    "2.1": "1-3",
    "2.2": "1-3",
    "2.3": "1-4",
    "2.4": "1",
    "3.2": "1-2",
    "3.3": "1-4",
    "3.4": "1-6",
    "3.5": "1-5",
    "3.7": "1-2",
    "4.1": "1-3",
    "4.2": "1",
    "4.3": "1-2",
    "4.4": "1-4",
    "5.1": "1",
    "5.2": "1-3",
    "5.3": "1-2",
    "5.4": "1-3",
    "6.1": "1-3",
    "6.2": "1-11",
    "6.3": "1-3",
    "6.4": "1-4",
    "6.5": "1-5",
    "6.6": "1-3",
    "6.8": "1-4",
    "7.1": "1-3",
    "7.2": "1-4",
    "7.3": "1-2",
    "7.4": "1-5",
    "7.5": "1-2",
    "7.6": "1-2",
    "8.1": "1-2",
    "8.2": "1-3",
    "8.3": "1",
    "8.4": "1",
    "9.1": "1-3",
    "9.2": "1-4",
    "10": "1",
    "11.1": "1-2",
    "11.2": "1-3",
    "11.3": "1-3",
    "11.4": "1-4",
    "11.5": "1",
    "11.6": "1",
    "12.1": "1-3",
    "12.2": "1-2",
    "12.3": "1-4",
    "13.1": "1",
    "13.2": "1-5",
    "13.3": "1-2",
    "13.4": "1-5",
    "14.1": "1-2",
    "14.2": "1-4",
    "14.3": "1-3",
    "15.1": "1-3",
    "15.2": "1-3",
    "15.3": "1-7",
    "16.1": "1",
    "16.2": "1-5",
    "16.3": "1-4",
    "16.4": "1-3",
    "16.5": "1-3",
    "17": "1",
}


@dataclass(frozen=True)
class Line:
    numbers: tuple[str, ...]
    judged: str
    shown_by: tuple[str, ...]
    text: str


def expected() -> set[str]:
    return {number for section, span in SECTIONS.items() for number in spread(f"{section}.{span}")}


def spread(text: str) -> list[str]:
    """`6.2.1-3` is three numbers; `10.1` stands for all of a chapter that does not apply."""
    head, _, span = text.rpartition(".")
    first, _, last = span.partition("-")
    return [f"{head}.{one}" for one in range(int(first), int(last or first) + 1)]


@cache
def lines() -> list[Line]:
    page = PAGE.read_text(encoding="utf-8")
    section = page.partition("\n## ASVS 5, level 2\n")[2].partition("\n## ")[0]
    rows = [row for row in section.splitlines() if re.match(r"\| \d", row)]
    return [read(row) for row in rows]


def read(row: str) -> Line:
    numbers, _, judged, shown = (part.strip() for part in row.strip("|").split(" | "))
    every = tuple(one for part in numbers.split(", ") for one in spread(part))
    return Line(every, judged.split(":")[0], tuple(re.findall(r"`([^`]+)`", shown)), row)


@cache
def names_in(file: str) -> frozenset[str]:
    path = ROOT / "tests" / file
    if not path.is_file():
        return frozenset()
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return frozenset(
        node.name
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        and node.name.startswith("test_")
    )


def headings() -> set[str]:
    page = PAGE.read_text(encoding="utf-8")
    return {line.strip("# ").strip() for line in page.splitlines() if line.startswith("#")} | set(
        re.findall(r"\*\*([^*]+)\*\*", page)
    )


def test_every_line_of_level_two_is_judged_once() -> None:
    numbers = [number for line in lines() for number in line.numbers]
    assert sorted({one for one in numbers if numbers.count(one) > 1}) == []
    assert set(numbers) == expected()
    assert [line.text for line in lines() if line.judged not in JUDGED] == []


def test_every_line_that_applies_names_what_shows_it_and_that_is_there() -> None:
    missing = []
    for line in lines():
        if line.judged in ("yes", "partly") and not line.shown_by:
            missing.append(line.text)
        for named in line.shown_by:
            file, _, test = named.partition("::")
            there = test.strip() in names_in(file) if test else named in headings()
            if not there:
                missing.append(f"{line.numbers[0]}: {named}")
    assert missing == []


def test_a_line_that_is_not_met_says_why() -> None:
    for line in lines():
        if line.judged in ("no", "none", "partly"):
            assert ":" in line.text.split(" | ")[2], line.text
