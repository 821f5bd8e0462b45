"""A tablet of the demonstration shop: writes events exactly as the bench app queues them."""

from __future__ import annotations

import datetime as dt
import json
from random import Random
from typing import Any
from uuid import UUID

from api.domain.events import NO_PREVIOUS, SCHEMA, Event, from_raw, hash_of, signed_text
from api.use_cases.ports import Signer

BUILD = "demonstration"


def uuid7(at: dt.datetime, random: Random) -> str:
    """A version 7 UUID (RFC 9562): 48 bits of milliseconds, the rest random."""
    milliseconds = int(at.timestamp() * 1000)
    tail = random.getrandbits(12) << 64 | 2 << 62 | random.getrandbits(62)
    return str(UUID(int=milliseconds << 80 | 7 << 76 | tail))


class Tablet:
    """Numbers, chains and freezes events; keeps them until the server has taken them.

    `now` is the true time up to which this tablet has been used; its own clock differs from
    it by `offset_ms`, which it knows from the server.
    """

    def __init__(self, random: Random, start: dt.datetime, offset_ms: int, signer: Signer) -> None:
        self.id = str(UUID(int=random.getrandbits(128), version=4))
        self.now = start
        self.offline_until = start
        self.signer = signer
        self._random = random
        self._offset_ms = offset_ms
        self._n = 0
        self._prev = NO_PREVIOUS
        self._woken = start
        self._outbox: list[tuple[dt.datetime, str]] = []

    def wake(self) -> None:
        """Starts the app anew, and with it the monotonic time of its records."""
        self._woken = self.now

    def pass_time(self, seconds: float) -> None:
        self.now += dt.timedelta(milliseconds=round(seconds * 1000))

    def write(
        self, setup: str, kind: str, step: str | None, person: str, data: dict[str, Any]
    ) -> tuple[Event, str]:
        """The next event of this tablet's chain, and its hash."""
        self._n += 1
        shown = self.now - dt.timedelta(milliseconds=self._offset_ms)
        raw = {
            "id": uuid7(shown, self._random),
            "tablet": self.id,
            "n": self._n,
            "prev": self._prev,
            "setup": setup,
            "kind": kind,
            "step": step,
            "person": person,
            "data": data,
            "at": shown.isoformat(timespec="milliseconds").replace("+00:00", "Z"),
            "elapsed": round((self.now - self._woken).total_seconds() * 1000),
            "clock_offset": self._offset_ms,
            "schema": SCHEMA,
            "build": BUILD,
        }
        text = json.dumps(raw, ensure_ascii=False, separators=(",", ":"))
        self._prev = hash_of(text)
        self._outbox.append((self.now, text))
        return from_raw(raw), self._prev

    @property
    def next_push(self) -> dt.datetime | None:
        """When it tries to send next; None while nothing waits."""
        if not self._outbox:
            return None
        return max(self._outbox[-1][0], self.offline_until) + dt.timedelta(seconds=2)

    def take(self, until: dt.datetime) -> list[str]:
        """What has been recorded up to now, taken out of the outbox."""
        sent = [text for at, text in self._outbox if at <= until]
        self._outbox = [(at, text) for at, text in self._outbox if at > until]
        return sent

    def signed(self, texts: list[str]) -> list[str]:
        return [self.signer.sign(signed_text(hash_of(text))) for text in texts]
