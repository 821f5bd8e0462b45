"""A whole shop as lines of canonical JSON: what the lines are, and reading them back."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from typing import Any

import rfc8785

from api.domain.chain import canonical
from api.domain.errors import BadInput

VERSION = 1
FIRST, LAST = "shop", "end"
LONGEST_SHOWN = 60
Line = dict[str, Any]


def text_of(line: Line) -> str:
    """One state of a shop has one text."""
    return canonical(line)


def looks_like_dump(beginning: str) -> bool:
    """Whether a file that begins like this was made by `clampbook dump`."""
    return beginning.startswith("{") and '"line":"shop"' in beginning.replace(": ", ":")


def read_lines(texts: Iterable[str]) -> Iterator[Line]:
    """The lines of a dump; raises `BadInput` naming the first that does not belong in one."""
    number, ended = 0, False
    for number, text in enumerate(texts, start=1):
        line = _parsed(text.removesuffix("\n"), number)
        if number == 1:
            _check_header(line)
        elif ended or line["line"] == FIRST:
            raise BadInput(f"Line {number} comes after the dump's end. Take the file as it was.")
        ended = line["line"] == LAST
        if ended and line["lines"] != number:
            raise BadInput(
                f"The dump says it has {line['lines']} lines and has {number}: it is not whole."
            )
        yield line
    if not ended:
        raise BadInput(f"The dump breaks off after line {number}: it is not whole. Make it again.")


def _parsed(text: str, number: int) -> Line:
    try:
        line = json.loads(text)
        again = text_of(line) if isinstance(line, dict) else ""
    except (ValueError, RecursionError, rfc8785.CanonicalizationError):
        line, again = None, ""
    if not isinstance(line, dict) or not isinstance(line.get("line"), str):
        raise BadInput(
            f"Line {number} is no line of a dump: {text[:LONGEST_SHOWN]!r}. "
            "Each is one JSON object that says what it is."
        )
    if again != text:
        raise BadInput(
            f"Line {number} is not written as a dump writes it (RFC 8785): it was changed. "
            "Take the file as it was."
        )
    return line


def _check_header(line: Line) -> None:
    if line["line"] != FIRST or not isinstance(line.get("dump"), int):
        raise BadInput("The first line of a dump describes the shop; this file has another.")
    if line["dump"] > VERSION:
        raise BadInput(
            "This dump was made by a newer Clampbook, which writes it otherwise. "
            "Install that version to read it."
        )
