"""Clocks that are wrong: tablets' clocks are recorded and never trusted, and the server's may step too."""

from __future__ import annotations

import datetime as dt

import pytest

from api.domain.events import Event
from api.use_cases import records
from api.use_cases.setups import get_setup
from tests.support.invariants import all_sent, assert_invariants
from tests.support.shop import STEPS, Shop
from tests.support.sim.writing import Writer

NOW = dt.datetime(2026, 11, 24, 8, tzinfo=dt.UTC)
SUMMER_TIME_ENDS = dt.datetime(2026, 10, 25, 1, tzinfo=dt.UTC)
CLOCKS = {
    "two years ahead": dt.timedelta(days=730),
    "a day behind": dt.timedelta(days=-1),
    "as it should be": dt.timedelta(),
    "an hour ahead": dt.timedelta(hours=1),
}
LIMIT = dt.timedelta(minutes=2)


def worked(name: str, clock: dt.datetime) -> tuple[Writer, list[Event]]:
    writer = Writer(name, clock=clock)
    return writer, [writer.open(), *writer.work(STEPS, "sign")]


def test_tablets_years_apart_leave_one_order_and_say_whose_clock_was_wrong(shop: Shop) -> None:
    shop.clock.at = NOW + dt.timedelta(minutes=1)
    writers = {
        what: worked(f"tab-{n}", NOW + off)[0] for n, (what, off) in enumerate(CLOCKS.items())
    }
    flagged: dict[str, set[str]] = {}
    for texts in zip(*(one.texts for one in writers.values()), strict=True):
        for (what, writer), text in zip(writers.items(), texts, strict=True):
            taken = shop.push(writer, [text])
            flagged.setdefault(what, set()).update(taken.results[0].flags)
    assert flagged == {
        what: {"clock suspect"} if off > LIMIT else set() for what, off in CLOCKS.items()
    }
    for writer in writers.values():
        record = get_setup(shop.reader, writer.setup)
        assert [one.stored.text for one in record.events] == writer.texts
        assert record.state.odd == []
    assert_invariants(shop.database, [all_sent(one.name, one.texts) for one in writers.values()])


@pytest.mark.parametrize("jump", [-dt.timedelta(days=1), dt.timedelta(days=730)], ids=str)
def test_a_clock_set_in_mid_setup_moves_no_record(shop: Shop, jump: dt.timedelta) -> None:
    writer = Writer("tab-1", clock=NOW)
    writer.open()
    for number, _ in enumerate(writer.work(STEPS, "sign")):
        if number == 5:
            writer.clock += jump
    shop.push(writer)
    record = get_setup(shop.reader, writer.setup)
    assert [one.stored.n for one in record.events] == list(range(1, len(writer.texts) + 1))
    assert record.summary is not None
    assert record.summary.step == "sign"
    assert_invariants(shop.database, [all_sent(writer.name, writer.texts)])


def test_the_end_of_summer_time_is_no_step_in_what_is_kept(shop: Shop) -> None:
    """The tablet writes UTC, whatever its wall clock shows twice."""
    shop.clock.at = SUMMER_TIME_ENDS + dt.timedelta(minutes=30)
    writer, events = worked("tab-1", SUMMER_TIME_ENDS - dt.timedelta(seconds=5))
    taken = shop.push(writer)
    assert {flag for one in taken.results for flag in one.flags} == set()
    moments = [dt.datetime.fromisoformat(event.at) for event in events]
    assert moments == sorted(moments)
    assert_invariants(shop.database, [all_sent(writer.name, writer.texts)])


@pytest.mark.parametrize("back_s", [1, 3600, 400 * 86_400])
def test_a_server_clock_that_steps_back_breaks_no_chain_and_loses_nothing(
    shop: Shop, back_s: int
) -> None:
    writer, _ = worked("tab-1", NOW)
    half = len(writer.texts) // 2
    shop.push(writer, writer.texts[:half])
    before = assert_invariants(shop.database)
    shop.clock.forward(-back_s)
    taken = shop.push(writer)
    assert [one.outcome for one in taken.results] == ["already"] * half + ["stored"] * (
        len(writer.texts) - half
    )
    with shop.reader as uow:
        stored = uow.events.after(0, 1000)
    assert [one.text for one in stored] == writer.texts
    assert stored[-1].received_at < stored[0].received_at
    assert_invariants(shop.database, [all_sent(writer.name, writer.texts)], before=before)


def test_a_server_clock_that_steps_back_keeps_a_locked_pin_locked(shop: Shop) -> None:
    writer, events = worked("tab-1", NOW)
    for pin in ("0000",) * 5:
        shop.sign(writer, events, pin)
    shop.push(writer)
    shop.clock.forward(-3600)
    signed = shop.sign(writer, events, "4101")
    shop.push(writer, writer.texts[-1:])
    with shop.reader as uow:
        kept = uow.signatures.get(signed.id)
    assert kept is not None
    assert kept.verdict == "provisional"
    shop.clock.forward(3600 + 31)
    assert records.judge_due_signatures(shop.uow, shop.means) == 1
    assert_invariants(shop.database, [all_sent(writer.name, writer.texts)])
