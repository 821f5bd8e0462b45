"""A design file's text -> the design and everything the checker has to say about it."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from api.domain.designs.checks import check
from api.domain.designs.document import Design
from api.domain.designs.explain import explain
from api.domain.designs.findings import LEVELS, Finding, Report
from api.domain.designs.form.positions import line_numbers
from api.domain.errors import BadInput
from api.domain.stores import Stores

LARGEST_TEXT = 400_000
LONGEST_LINE = 20_000
MOST_DOTS = 8
DEEPEST = 8
MOST_FINDINGS = 100

_AT_LINE = re.compile(r"\(at (?:line (\d+), column \d+|end of document)\)")
_DOTTED = re.compile(rf"(?:[A-Za-z0-9_\"'-]+[ \t]*\.[ \t]*){{{MOST_DOTS}}}")


@dataclass(frozen=True)
class Reading:
    """`design` is missing where the file cannot be read as one; `unreadable` if it is no TOML."""

    design: Design | None
    findings: list[Finding] = field(default_factory=list)
    unreadable: bool = False

    @property
    def stops(self) -> list[Finding]:
        return [finding for finding in self.findings if finding.level == "stop"]


class _Unreadable(BadInput):
    """The text is no TOML document that could be looked at further."""

    def __init__(self, code: str, message: str, fix: str, line: int = 0) -> None:
        super().__init__(message, code=code, line=line)
        self.fix = fix
        self.line = line


def read_design(text: str | bytes, file: str, stores: Stores) -> Reading:
    """The design in `text` with its findings; never raises for anything a file may hold."""
    try:
        document, plain = _document(text)
    except _Unreadable as reason:
        finding = Finding(
            reason.code, "stop", "file", reason.message, reason.fix, file, reason.line, ""
        )
        return Reading(None, [finding], unreadable=True)
    report = Report(file, line_numbers(plain))
    design = _design(document, report)
    if design is not None:
        check(design, stores, report)
    return Reading(design, _shortened(report.findings))


def _shortened(findings: list[Finding]) -> list[Finding]:
    """At most `MOST_FINDINGS`; where some are left out, a stop never is for a lesser one."""
    if len(findings) <= MOST_FINDINGS:
        return findings
    return sorted(findings, key=lambda each: LEVELS.index(each.level))[:MOST_FINDINGS]


def _document(text: str | bytes) -> tuple[dict[str, Any], str]:
    plain = _decoded(text)
    _refuse_size(plain)
    try:
        document = tomllib.loads(plain)
    except tomllib.TOMLDecodeError as reason:
        raise _syntax(str(reason), plain) from None
    except RecursionError:
        raise _too_deep() from None
    except ValueError as reason:
        raise _Unreadable(
            "toml-syntax", f"The file is not TOML: {str(reason)[:120]}", "Correct the file"
        ) from None
    _refuse_depth(document)
    return document, plain


def _decoded(text: str | bytes) -> str:
    if isinstance(text, str):
        try:
            text.encode()
        except UnicodeEncodeError:
            raise _not_utf8("The text holds half a character (a lone surrogate)", 0) from None
        return text.removeprefix("\ufeff")
    if len(text) > 4 * LARGEST_TEXT:
        raise _too_large(len(text))
    try:
        return text.decode("utf-8-sig")
    except UnicodeDecodeError as reason:
        line = text.count(b"\n", 0, reason.start) + 1
        raise _not_utf8(f"Byte {reason.start + 1} is not UTF-8 text", line) from None


def _refuse_size(text: str) -> None:
    if len(text) > LARGEST_TEXT:
        raise _too_large(len(text))
    if not text.strip():
        raise _Unreadable(
            "empty", "The file is empty", "Start from a design file that works and change it"
        )
    for number, line in enumerate(text.split("\n"), start=1):
        if len(line) > LONGEST_LINE:
            raise _Unreadable(
                "line-too-long",
                f"The line has {len(line)} characters; at most {LONGEST_LINE} are read",
                "Break the line or shorten the value",
                number,
            )
        if _DOTTED.match(line.lstrip(" \t[")):
            raise _too_deep(number)


def _refuse_depth(document: dict[str, Any]) -> None:
    level: list[Any] = [document]
    for _ in range(DEEPEST):
        level = [
            inner
            for outer in level
            for inner in (outer.values() if isinstance(outer, dict) else outer)
            if isinstance(inner, dict | list)
        ]
    if level:
        raise _too_deep()


def _syntax(reason: str, text: str) -> _Unreadable:
    found = _AT_LINE.search(reason)
    line = int(found.group(1)) if found and found.group(1) else text.count("\n") + 1
    what = _AT_LINE.sub("", reason).strip().rstrip(".")[:160]
    if "overwrite" in what or "twice" in what or "Duplicate" in what or "namespace" in what:
        return _Unreadable(
            "duplicate",
            f"Something stands twice in the file: {what}",
            "Keep one of the two; [[stop]], [[clamp]] and the like take double brackets",
            line,
        )
    if "end of document" in reason:
        fix = "Complete the value, or close the bracket or quote that is still open"
        return _Unreadable("toml-syntax", f"The file ends too early: {what}", fix, line)
    return _Unreadable("toml-syntax", f"The file is not TOML: {what}", "Correct this line", line)


def _too_large(size: int) -> _Unreadable:
    return _Unreadable(
        "too-large",
        f"The file has {size} characters; a design has at most {LARGEST_TEXT}",
        "Check that this is the design file",
    )


def _too_deep(line: int = 0) -> _Unreadable:
    return _Unreadable(
        "too-deep",
        f"Tables or lists are nested more than {DEEPEST} deep",
        "Write the file in the form of the example designs",
        line,
    )


def _not_utf8(message: str, line: int) -> _Unreadable:
    return _Unreadable(
        "not-utf8", message, "Save the file as UTF-8 text; it may be a binary file", line
    )


def _design(document: dict[str, Any], report: Report) -> Design | None:
    try:
        return Design.from_document(document)
    except ValidationError as problem:
        for error in problem.errors(include_url=False)[:MOST_FINDINGS]:
            _add(error, document, report)
    return None


def _add(error: ErrorDetails, document: dict[str, Any], report: Report) -> None:
    code, message, fix = explain(error)
    path = tuple(error["loc"])
    report.stop(code, subject_of(path, document), message, fix, path)


def subject_of(path: tuple[str | int, ...], document: dict[str, Any]) -> str:
    """ "clamp C1" for a path inside it, or the table's name, or "design"."""
    match path:
        case (str(noun), int(index), *_):
            try:
                named = document[noun][index]["id"]
            except (KeyError, IndexError, TypeError):
                named = None
            return f"{noun} {named}" if isinstance(named, str) else f"{noun} {index + 1}"
        case (str(noun), _, *_):
            return noun
        case _:
            return "design"
