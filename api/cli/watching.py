"""How far a long walk through the records has come, told once it takes more than a second."""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator
from contextlib import ExitStack
from typing import TypeVar

from rich.status import Status

from api.cli.output import complaints

AFTER_S = 1.0
EACH = 200
Item = TypeVar("Item")


def watched(items: Iterable[Item], done: str) -> Iterator[Item]:
    """The items, with a count on the error stream."""
    started = time.monotonic()
    shown: Status | None = None
    with ExitStack() as stack:
        for count, item in enumerate(items):
            if count % EACH == 0 and time.monotonic() - started > AFTER_S:
                words = f"{count} lines {done}"
                if shown is None:
                    shown = stack.enter_context(complaints.status(words))
                shown.update(words)
            yield item
