"""Calendar days as the shop counts them: in the zone of the computer that keeps the records."""

from __future__ import annotations

import datetime as dt


def midnight(day: dt.date) -> dt.datetime:
    """The moment the day begins, in UTC; the outermost days of the calendar begin at 00:00 UTC."""
    start = dt.datetime.combine(day, dt.time())
    try:
        return start.astimezone().astimezone(dt.UTC)
    except (OverflowError, ValueError, OSError):
        return start.replace(tzinfo=dt.UTC)


def day_of(moment: dt.datetime) -> dt.date:
    return moment.astimezone().date()
