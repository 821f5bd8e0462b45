"""The server has a backup made whenever the newest is old enough, and goes on when that fails."""

from __future__ import annotations

import datetime as dt
import sys
from collections.abc import Callable, Iterator

import pytest

from api.backing import Hourly
from tests.backing.conftest import Kept
from tests.support.net import wait_until

HOUR = dt.timedelta(hours=1)
FAILING = (sys.executable, "-c", "import sys; sys.exit('The disk is full.')")
HANGING = (sys.executable, "-c", "import signal; signal.pause()")
MakeHourly = Callable[..., Hourly]


@pytest.fixture
def hourly(kept: Kept) -> Iterator[MakeHourly]:
    made: list[Hourly] = []

    def make(every: dt.timedelta = HOUR, **more: object) -> Hourly:
        settings = kept.settings.model_dump_json()
        looks = {"first_look_s": 0.0, "look_every_s": 0.02}
        made.append(Hourly(kept.shelf, settings, every, **{**looks, **more}))  # type: ignore[arg-type]
        made[-1].start()
        return made[-1]

    yield make
    for one in made:
        one.stop()


def test_the_first_look_makes_one_by_a_process_of_its_own(kept: Kept, hourly: MakeHourly) -> None:
    hourly()
    wait_until(lambda: kept.shelf.newest() is not None, what="a backup")
    (made,) = kept.shelf.all()
    wait_until(lambda: watermark(kept) == made.manifest.seq, what="the watermark")


def watermark(kept: Kept) -> int | None:
    with kept.shop.reader as uow:
        return uow.shop.meta().watermark


def test_a_fresh_one_is_enough_and_an_old_one_is_not(kept: Kept, hourly: MakeHourly) -> None:
    now = dt.datetime.now(dt.UTC)
    kept.shop.clock.at = now - dt.timedelta(minutes=50)
    kept.backup()
    begun = hourly(first_look_s=3600)
    assert not begun.is_due(now)
    assert begun.is_due(now + dt.timedelta(minutes=10))
    # A clock that went back by a day: what seems to come from the future tells nothing.
    assert begun.is_due(now - dt.timedelta(days=1))
    hourly(every=dt.timedelta(minutes=40))
    wait_until(lambda: len(kept.shelf.all()) == 2, what="a second backup")


def test_a_failure_is_logged_and_not_tried_again_at_once(
    kept: Kept, hourly: MakeHourly, caplog: pytest.LogCaptureFixture
) -> None:
    made = hourly(command=FAILING)
    wait_until(lambda: "backup failed" in caplog.text, what="a failure in the log")
    told = [one.facts for one in caplog.records if hasattr(one, "facts")]
    assert told == [{"why": "The disk is full."}]
    made.stop()
    assert kept.shelf.all() == []


@pytest.mark.parametrize("new_database_url", ["sqlite"], indirect=True)
def test_one_that_hangs_ends_with_the_server(kept: Kept, hourly: MakeHourly) -> None:
    made = hourly(command=HANGING)
    wait_until(lambda: made.process is not None, what="a process")
    process = made.process
    assert process is not None
    made.stop()
    assert process.wait(10) != 0
