"""Which copies may go: all of two days stay, then one a day, then one a month, for a year."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from typing import TypeVar

ALL_FOR = dt.timedelta(hours=48)
DAILY_FOR = dt.timedelta(days=30)
MONTHLY_FOR = dt.timedelta(days=365)
Name = TypeVar("Name")


def to_drop(copies: Mapping[Name, tuple[dt.datetime, bool]], now: dt.datetime) -> list[Name]:
    """Names of copies that may be deleted, oldest first; `copies` says when made and whether good.

    Of a day and of a month the last good copy stays, and the newest good one always does. One
    dated after `now` is kept: a clock was wrong, not the copy.
    """
    good = {name: at for name, (at, fits) in copies.items() if fits}
    kept = {name for name, (at, _) in copies.items() if now - at <= ALL_FOR}
    kept |= _last_of(good, now - DAILY_FOR, lambda at: f"{at:%Y-%m-%d}")
    kept |= _last_of(good, now - MONTHLY_FOR, lambda at: f"{at:%Y-%m}")
    if good:
        kept.add(max(good, key=lambda name: good[name]))
    return sorted((one for one in copies if one not in kept), key=lambda name: copies[name][0])


def _last_of(
    good: Mapping[Name, dt.datetime], since: dt.datetime, span: Callable[[dt.datetime], str]
) -> set[Name]:
    last: dict[str, Name] = {}
    for name, at in sorted(good.items(), key=lambda one: one[1]):
        if at >= since:
            last[span(at.astimezone(dt.UTC))] = name
    return set(last.values())
