"""Which copies stay: all of two days, one a day for 30 days, one a month for a year."""

from __future__ import annotations

import datetime as dt

import pytest

from api.backing.retention import to_drop

NOW = dt.datetime(2026, 11, 25, 8, tzinfo=dt.UTC)


def ago(**spans: float) -> dt.datetime:
    return NOW - dt.timedelta(**spans)


def dropped(*ages: dt.datetime) -> set[dt.datetime]:
    return set(to_drop({at: (at, True) for at in ages}, NOW))


@pytest.mark.parametrize(
    ("copies", "gone"),
    [
        ([], set()),
        ([ago(hours=1), ago(hours=2), ago(hours=47)], set()),
        # Of the same day beyond two days, only the last stays.
        ([ago(hours=1), ago(days=3, hours=1), ago(days=3, hours=2)], {ago(days=3, hours=2)}),
        # Of the same month beyond 30 days, only the last stays.
        ([ago(hours=1), ago(days=36), ago(days=37)], {ago(days=37)}),
        # Beyond a year nothing stays,
        ([ago(hours=1), ago(days=400)], {ago(days=400)}),
        # unless it is the newest there is.
        ([ago(days=400)], set()),
        ([ago(days=400), ago(days=500)], {ago(days=500)}),
        # A copy from the future is kept, and so is the newest of the rest of its day.
        ([ago(days=-900), ago(hours=1)], set()),
    ],
)
def test_a_table_of_copies(copies: list[dt.datetime], gone: set[dt.datetime]) -> None:
    assert dropped(*copies) == gone


def test_a_year_of_hourly_copies_leaves_at_most_ninety_odd() -> None:
    copies = [ago(hours=one) for one in range(24 * 366)]
    left = set(copies) - dropped(*copies)
    assert {at for at in copies if NOW - at <= dt.timedelta(hours=48)} <= left
    assert 85 <= len(left) <= 95


def test_thinning_out_every_hour_leaves_the_same_as_thinning_out_once() -> None:
    start, kept = ago(days=80), list[dt.datetime]()
    for hour in range(80 * 24 + 1):
        now = start + dt.timedelta(hours=hour)
        kept.append(now)
        gone = set(to_drop({at: (at, True) for at in kept}, now))
        kept = [at for at in kept if at not in gone]
    assert len(kept) == len(set(kept))
    assert 48 + 28 <= len(kept) <= 49 + 31 + 3


def test_the_newest_good_copy_stays_among_any_number_of_faulty_ones() -> None:
    good, faulty = ago(days=500), [ago(days=one) for one in range(3, 400)]
    copies = {good: (good, True)} | {at: (at, False) for at in faulty}
    assert set(to_drop(copies, NOW)) == set(faulty)
