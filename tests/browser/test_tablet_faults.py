"""Faults on the tablet itself: what was ticked is kept, what was not kept is not ticked."""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path

import pytest
from playwright.sync_api import Playwright, expect

from tests.browser import faults
from tests.browser.chromium import Profile
from tests.browser.conftest import MakeKilledTablet, MakeTablet
from tests.browser.enrolling import code_for
from tests.browser.record import open_setup, record
from tests.browser.tablet import KilledTablet
from tests.support.server import Server

FIRST, SECOND, THIRD = "clean/top", "clean/underside", "clean/stop/S1"
YEARS_2 = dt.timedelta(days=730)
TURNED_AWAY = ("the server responded with a status of 40",)


def test_storage_quota_exceeded_ticks_nothing_and_the_next_tap_after_making_room_does(
    shared_shop: Server, plate: str, tablet: MakeTablet
) -> None:
    bench = tablet(shared_shop.url)
    bench.open()
    bench.start_setup(plate)
    bench.at(FIRST)
    faults.limit_storage(bench.page, shared_shop.url, 1)
    bench.tap(bench.main_action)
    expect(bench.find("fault")).to_contain_text("This tablet's storage is full")
    bench.at(FIRST)
    assert len(bench.rows("own")) == 1
    faults.limit_storage(bench.page, shared_shop.url, None)
    bench.main()
    bench.at(SECOND)
    bench.all_on_server()
    whole = record(shared_shop.url, open_setup(shared_shop.url, plate))
    assert whole.answers[FIRST] == 1
    assert list(whole.numbers.values()) == [[1, 2]]


@pytest.mark.parametrize("told", [True, False], ids=["the browser says so", "without a word"])
def test_an_indexeddb_connection_that_is_lost_is_opened_again_by_the_next_tap(
    shared_shop: Server, plate: str, tablet: MakeTablet, told: bool
) -> None:
    bench = tablet(shared_shop.url)
    faults.remember_connections(bench.context)
    bench.open()
    bench.start_setup(plate)
    faults.end_connections(bench.page, told=told)
    bench.main()
    bench.at(SECOND)
    bench.all_on_server()
    whole = record(shared_shop.url, open_setup(shared_shop.url, plate))
    assert list(whole.numbers.values()) == [[1, 2]]


def test_a_wiped_tablet_comes_back_as_a_new_one_and_takes_the_setup_over(
    shared_shop: Server, plate: str, tablet: MakeTablet
) -> None:
    bench = tablet(shared_shop.url)
    bench.open()
    bench.start_setup(plate, badge="B-01")
    bench.work_until(THIRD)
    bench.all_on_server()
    before = record(shared_shop.url, open_setup(shared_shop.url, plate))
    bench.complaints.expected = TURNED_AWAY
    faults.wipe(bench.page, shared_shop.url)
    bench.page.goto("about:blank")
    bench.enrolled = False
    bench.open()
    bench.take_over(plate, badge="B-01")
    bench.at(THIRD)
    bench.main()
    bench.all_on_server()
    after = record(shared_shop.url, open_setup(shared_shop.url, plate))
    assert len(after.numbers) == 2
    assert after.events[: len(before.events)] == before.events


def test_a_cloned_tablet_is_found_out_nothing_is_lost_and_it_goes_on_under_a_new_name(
    shop: Server, playwright: Playwright, killed_tablet: MakeKilledTablet, tmp_path: Path
) -> None:
    first = killed_tablet(shop.url)
    first.open()
    first.start_setup("SAD-20-001")
    first.all_on_server()
    first.quit()
    copied = tmp_path / "copied profile"
    shutil.copytree(tmp_path / "profile-0", copied, symlinks=True)
    first.restart()
    first.open()
    first.go_on()
    first.main()
    first.all_on_server()
    second = KilledTablet(Profile(playwright, copied), shop.url)
    try:
        second.enrolled = True
        second.complaints.expected = TURNED_AWAY
        second.open()
        second.go_on()
        second.main()
        expect(second.find("standing", "forked")).to_be_visible()
        expect(second.find("records")).to_contain_text("set aside")
        old = second.rows("chain")[0]["tablet"]
        second.go(second.find("enrol"))
        second.keys(code_for(shop.url).replace("-", ""))
        second.leave(second.main_action)
        assert second.rows("chain")[0]["tablet"] != old
        expect(second.find("standing")).to_have_count(0)
        second.take_over("SAD-20-001")
        second.all_on_server()
        assert {row["outcome"] for row in second.rows("earlier")} == {"stored", "set aside"}
        whole = record(shop.url, open_setup(shop.url))
        assert len(whole.numbers) == 2
        assert second.complaints.found == []
    finally:
        second.close()


@pytest.mark.parametrize(
    "off", [YEARS_2, -dt.timedelta(days=1)], ids=["two years ahead", "a day behind"]
)
def test_a_tablet_whose_clock_is_wrong_works_and_its_records_say_by_how_much(
    shared_shop: Server, plate: str, tablet: MakeTablet, off: dt.timedelta
) -> None:
    bench = tablet(shared_shop.url)
    bench.page.clock.set_system_time(dt.datetime.now(dt.UTC) + off)
    bench.open()
    bench.start_setup(plate)
    bench.main()
    bench.all_on_server()
    whole = record(shared_shop.url, open_setup(shared_shop.url, plate))
    offset_s = whole.events[-1]["clock_offset"] / 1000
    assert offset_s == pytest.approx(-off.total_seconds(), abs=60)
    assert list(whole.numbers.values()) == [[1, 2]]


def test_a_clock_that_jumps_in_the_middle_of_a_setup_moves_no_record(
    shared_shop: Server, plate: str, tablet: MakeTablet
) -> None:
    bench = tablet(shared_shop.url)
    bench.open()
    bench.start_setup(plate)
    bench.main()
    bench.page.clock.set_system_time(dt.datetime.now(dt.UTC) - dt.timedelta(hours=1))
    bench.main()
    bench.all_on_server()
    whole = record(shared_shop.url, open_setup(shared_shop.url, plate))
    assert [one["step"] for one in whole.events] == [None, FIRST, SECOND]
    assert len(bench.rows("own")) == 3


def test_of_two_tabs_one_works_and_the_other_goes_on_when_the_first_is_closed(
    shared_shop: Server, plate: str, tablet: MakeTablet
) -> None:
    bench = tablet(shared_shop.url)
    bench.open()
    bench.start_setup(plate)
    bench.main()
    first, second = bench.page, bench.context.new_page()
    second.goto(f"{shared_shop.url}/bench")
    expect(second.locator('main[data-screen="second-tab"]')).to_be_visible()
    first.close()
    bench.page = second
    bench.go_on()
    bench.at(SECOND)
    bench.main()
    bench.all_on_server()
    whole = record(shared_shop.url, open_setup(shared_shop.url, plate))
    (numbers,) = whole.numbers.values()
    assert numbers == list(range(1, len(numbers) + 1))


def test_a_frozen_tab_keeps_the_other_from_writing_until_it_is_closed(
    shared_shop: Server, plate: str, tablet: MakeTablet
) -> None:
    bench = tablet(shared_shop.url)
    bench.open()
    bench.start_setup(plate)
    bench.main()
    bench.all_on_server()
    first, second = bench.page, bench.context.new_page()
    faults.freeze(first)
    second.goto(f"{shared_shop.url}/bench")
    expect(second.locator('main[data-screen="second-tab"]')).to_be_visible()
    first.close()
    bench.page = second
    bench.go_on()
    bench.at(SECOND)


def test_an_old_tab_that_holds_an_old_database_is_named_and_nothing_is_lost_when_it_closes(
    shared_shop: Server, tablet: MakeTablet
) -> None:
    bench = tablet(shared_shop.url)
    old = bench.page
    faults.first_release(old, shared_shop.url, [], here=True)
    bench.page = bench.context.new_page()
    bench.page.goto(f"{shared_shop.url}/bench#enrol={code_for(shared_shop.url)}")
    expect(bench.find("fault")).to_contain_text("An older version of the bench is open")
    old.close()
    bench.main()
    expect(bench.page.locator('main[data-screen="plates"]')).to_be_visible()
    expect(bench.find("fault")).to_have_count(0)
