"""The tablets' own chains, in whatever order their events came, and the keys that sign them."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass

from api.domain.chain import NO_PREVIOUS


@dataclass(slots=True)
class Run:
    """Events without a gap: their first and last number, what the first follows, the last's hash."""

    first: int
    last: int
    prev: str
    hash: str


class Runs:
    """What has been seen of every tablet; its size depends on the gaps, not on the events."""

    def __init__(self) -> None:
        self._of: dict[str, list[Run]] = {}

    def has(self, tablet: str, n: int) -> bool:
        runs = self._of.get(tablet, [])
        place = _place(runs, n)
        return place > 0 and n <= runs[place - 1].last

    def add(self, tablet: str, n: int, prev: str, own_hash: str) -> bool:
        """Whether the event fits its neighbours that were seen; it is seen from now on."""
        runs = self._of.setdefault(tablet, [])
        place = _place(runs, n)
        before = runs[place - 1] if place and runs[place - 1].last == n - 1 else None
        after = runs[place] if place < len(runs) and runs[place].first == n + 1 else None
        fits = after is None or after.prev == own_hash
        if n == 1 or before is not None:
            fits = fits and prev == (before.hash if before else NO_PREVIOUS)
        if before is None:
            before = Run(n, n, prev, own_hash)
            runs.insert(place, before)
        before.last, before.hash = n, own_hash
        if after is not None:
            before.last, before.hash = after.last, after.hash
            runs.remove(after)
        return fits

    def ends(self) -> dict[str, tuple[int, int]]:
        """For each tablet its highest number without a gap before it, and its highest."""
        return {
            tablet: (runs[0].last if runs[0].first == 1 else 0, runs[-1].last)
            for tablet, runs in self._of.items()
        }

    def gaps(self) -> Iterator[tuple[str, int, int]]:
        """(tablet, first, last) of numbers that never came."""
        for tablet, runs in sorted(self._of.items()):
            wanted = 1
            for run in runs:
                if run.first > wanted:
                    yield tablet, wanted, run.first - 1
                wanted = run.last + 1


def _place(runs: list[Run], n: int) -> int:
    """How many runs begin at or before `n`."""
    return bisect_right(runs, n, key=lambda run: run.first)
