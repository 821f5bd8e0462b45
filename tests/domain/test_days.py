"""Days are counted in the zone of the computer that keeps the records."""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Iterator

import pytest

from api.domain.days import day_of, midnight


@pytest.fixture(params=["UTC", "AAA-14", "ZZZ+12"])
def zone(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    monkeypatch.setenv("TZ", request.param)
    time.tzset()
    yield request.param
    monkeypatch.undo()
    time.tzset()


def test_midnight_lies_as_far_from_greenwich_as_the_zone(zone: str) -> None:
    hours = {"UTC": 0, "AAA-14": -14, "ZZZ+12": 12}[zone]
    start = dt.datetime(2026, 11, 20, tzinfo=dt.UTC) + dt.timedelta(hours=hours)
    assert midnight(dt.date(2026, 11, 20)) == start


def test_a_day_begins_at_its_midnight_and_not_before(zone: str) -> None:
    assert zone
    start = midnight(dt.date(2026, 11, 20))
    assert day_of(start) == dt.date(2026, 11, 20)
    assert day_of(start - dt.timedelta(microseconds=1)) == dt.date(2026, 11, 19)


@pytest.mark.parametrize("day", [dt.date.min, dt.date.max])
def test_the_ends_of_the_calendar_are_days_too(zone: str, day: dt.date) -> None:
    assert zone
    assert midnight(day).tzinfo is dt.UTC
