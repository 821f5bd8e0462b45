"""What one check found."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Answer:
    """`todo` says what to do, and is empty when all is well."""

    subject: str
    found: str
    todo: str = ""
