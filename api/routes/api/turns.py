"""How many pushes may wait for the records at once, so that whoever only reads is still answered."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager

from api.domain.errors import Unavailable

# Of the forty threads that answer requests. More of them would only wait for each other.
MOST_AT_ONCE = 16
_turns = threading.BoundedSemaphore(MOST_AT_ONCE)


@contextmanager
def turn() -> Iterator[None]:
    """Raises `Unavailable` (`busy`) at once when too many are at it; the tablet comes again."""
    if not _turns.acquire(blocking=False):
        raise Unavailable(
            "Many tablets send at this moment. Nothing of this was taken; send it again shortly.",
            code="busy",
        )
    try:
        yield
    finally:
        _turns.release()
