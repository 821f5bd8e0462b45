"""The first thing that does not fit: where it is, what is wrong, and what to do."""

from __future__ import annotations

KEEP = "Keep this database as it is and restore a backup beside it."
COMPARE = (
    "Keep this database as it is, and compare it with a backup from before that checkpoint's time."
)


class Fault(Exception):
    def __init__(self, where: str, what: str, todo: str = KEEP) -> None:
        self.where, self.what, self.todo = where, what, todo
        super().__init__(f"{where} {what}")
