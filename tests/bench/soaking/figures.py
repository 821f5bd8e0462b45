"""What a soak counts, from many threads, and how it is told."""

from __future__ import annotations

import statistics
import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field


@dataclass
class Figures:
    counted: Counter[str] = field(default_factory=Counter)
    answers_s: list[float] = field(default_factory=list)
    began_s: float = field(default_factory=time.monotonic)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def count(self, what: str, times: int = 1) -> None:
        with self._lock:
            self.counted[what] += times

    @contextmanager
    def answer(self) -> Iterator[None]:
        """Times a push that is answered; one that fails counts as a retry to come."""
        began_s = time.monotonic()
        try:
            yield
        except BaseException:
            self.count("retries")
            raise
        with self._lock:
            self.answers_s.append(time.monotonic() - began_s)

    @property
    def p95_ms(self) -> float:
        if len(self.answers_s) < 2:
            return 0.0
        return 1000 * statistics.quantiles(self.answers_s, n=20)[-1]

    def pushes_per_s(self, seconds: float) -> float:
        return len(self.answers_s) / seconds

    def lines(self, seconds: float) -> Iterator[str]:
        for what in (
            "events sent",
            "stored",
            "delivered again",
            "set aside",
            "doubled",
            "lost",
            "retries",
            "restarts",
            "backups",
            "restores",
        ):
            yield f"{what:>16}  {self.counted[what]}"
        yield f"{'pushes a second':>16}  {self.pushes_per_s(seconds):.1f}"
        yield f"{'p95 of an answer':>16}  {self.p95_ms:.0f} ms"
