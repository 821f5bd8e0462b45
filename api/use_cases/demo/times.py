"""When things happened in the demonstration shop: a clock to set, working days, two shifts."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from random import Random

from api.domain.errors import BadInput

PAST_DAYS = 243
SATURDAY = 5
STARTS = (dt.time(6, 15), dt.time(9, 40), dt.time(14, 10), dt.time(17, 20))
LATE_SHIFT = dt.time(14)
LATENESS_MIN = 25
CREEPING, STEADY, THIN = "SAD-20-003", "SAD-20-001", "CLR-08-001"
ROUND = (CREEPING, THIN, STEADY, CREEPING, THIN, CREEPING, STEADY, THIN, CREEPING, STEADY)
LAST = (THIN, STEADY, CREEPING)


class SetClock:
    """A clock that stands where it is set."""

    def __init__(self, now: dt.datetime) -> None:
        self._now = now

    def now(self) -> dt.datetime:
        return self._now

    def set(self, now: dt.datetime) -> None:
        self._now = now


@dataclass
class Slot:
    """One setup to come: which plate, when work on it starts, and what will be special."""

    n: int
    plate: str
    start: dt.datetime
    stories: set[str] = field(default_factory=set)

    @property
    def late_shift(self) -> bool:
        return self.start.time() >= LATE_SHIFT


def midnight(day: dt.date, days: int = 0) -> dt.datetime:
    return dt.datetime.combine(day + dt.timedelta(days=days), dt.time(), dt.UTC)


def working_days(today: dt.date) -> list[dt.date]:
    """Mondays to Fridays of the eight months before `today`."""
    days = (today - dt.timedelta(days=back) for back in range(PAST_DAYS, 0, -1))
    return [day for day in days if day.weekday() < SATURDAY]


def slots(today: dt.date, count: int, random: Random) -> list[Slot]:
    """`count` setups spread evenly over the working days, at most one for each start of a day."""
    starts = _starts(working_days(today), count, random)
    plates = [ROUND[n % len(ROUND)] for n in range(count)]
    ends = LAST[-count:] if count else ()
    plates[count - len(ends) :] = ends
    return [
        Slot(n, plate, start) for n, (plate, start) in enumerate(zip(plates, starts, strict=True))
    ]


def _starts(days: list[dt.date], count: int, random: Random) -> list[dt.datetime]:
    most = len(days) * len(STARTS)
    if not 0 <= count <= most:
        raise BadInput(
            f"Eight months have room for 0 to {most} setups, not {count}.", field="setups"
        )
    per_day: dict[dt.date, int] = {}
    for n in range(count):
        day = days[len(days) - 1 - (count - 1 - n) * len(days) // count]
        per_day[day] = per_day.get(day, 0) + 1
    return [
        dt.datetime.combine(day, time, dt.UTC)
        + dt.timedelta(minutes=random.randrange(LATENESS_MIN), seconds=random.randrange(60))
        for day, wanted in per_day.items()
        for time in sorted(random.sample(STARTS, wanted))
    ]
