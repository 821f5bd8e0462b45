"""What the checker says about a design file: one finding each, with place and fix."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any, Literal

Level = Literal["note", "advice", "stop"]
LEVELS: tuple[Level, ...] = ("stop", "advice", "note")
Path = tuple[str | int, ...]
LONGEST_SHOWN = 300


@dataclass(frozen=True)
class Finding:
    """`line` counts from 1; 0 where a finding is about the whole file."""

    code: str
    level: Level
    subject: str
    message: str
    fix: str
    file: str
    line: int
    field: str

    def to_json(self) -> dict[str, Any]:
        return asdict(self)

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}" if self.line else self.file
        named = f" ({self.field})" if self.field else ""
        fix = self.fix[:1].upper() + self.fix[1:]
        return f"{place}: {self.level}: {self.message}{named}. {fix}."


@dataclass
class Report:
    """Collects findings; a path in the document gives each its line and its field."""

    file: str
    lines: Mapping[Path, int]
    findings: list[Finding] = field(default_factory=list)

    def stop(self, code: str, subject: str, message: str, fix: str, path: Path = ()) -> None:
        self._add(code, "stop", subject, message, fix, path)

    def advise(self, code: str, subject: str, message: str, fix: str, path: Path = ()) -> None:
        self._add(code, "advice", subject, message, fix, path)

    def note(self, code: str, subject: str, message: str, fix: str, path: Path = ()) -> None:
        self._add(code, "note", subject, message, fix, path)

    def line_of(self, path: Path) -> int:
        """The line of `path`, or of the nearest thing around it that stands in the file."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path, 0)

    def _add(
        self, code: str, level: Level, subject: str, message: str, fix: str, path: Path
    ) -> None:
        self.findings.append(
            Finding(
                code,
                level,
                shortened(subject),
                shortened(message),
                shortened(fix),
                self.file,
                self.line_of(path),
                shortened(field_name(path)),
            )
        )


def field_name(path: Path) -> str:
    """`clamp[0].torque` for a path in the document."""
    name = ""
    for part in path:
        name += f"[{part}]" if isinstance(part, int) else f".{part}" if name else part
    return name


def shortened(text: str) -> str:
    return text if len(text) <= LONGEST_SHOWN else f"{text[: LONGEST_SHOWN - 3]}..."
