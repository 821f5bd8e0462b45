"""A tablet's pen: whole setups one after another, frozen under a clock that may jump."""

from __future__ import annotations

import datetime as dt
import itertools
import json
import uuid
from collections.abc import Iterator
from typing import Any

from api.domain.events import Event, hash_of, parse
from tests.support.script import Tablet
from tests.support.shop import STEPS

MORNING = dt.datetime(2026, 11, 24, 8, tzinfo=dt.UTC)


class Writer(Tablet):
    """Goes through setup after setup; `clock` is what this tablet believes the time to be."""

    def __init__(self, name: str, *, person: str = "B-01", clock: dt.datetime = MORNING) -> None:
        super().__init__(name, setup=str(uuid.uuid4()), person=person)
        self.clock = clock
        self.offset_ms: float | None = None
        self._work = self._setups()

    def write(self, kind: str, step: str | None = None, /, **data: Any) -> Event:
        super().write(kind, step, **data)
        self.clock += dt.timedelta(seconds=1)
        fields = json.loads(self.texts.pop()) | {
            "id": str(uuid.uuid4()),
            "at": self.clock.isoformat(timespec="milliseconds").replace("+00:00", "Z"),
            "clock_offset": self.offset_ms,
        }
        text = json.dumps(fields)
        self.prev = hash_of(text)
        self.texts.append(text)
        return parse(text)

    def next(self) -> Event:
        """One more record, whatever comes next in the work."""
        return next(self._work)

    def _setups(self) -> Iterator[Event]:
        for number in itertools.count(1):
            self.setup = str(uuid.uuid4())
            yield self.open()
            yield from self.work(STEPS, "sign")
            yield self.write("note", None, text=f"setup {number} handed over")
