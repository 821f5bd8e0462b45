"""Numbers coming in: the keypad, the dial, a keyboard wedge, and the questions asked at once."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.bench import Bench
from tests.browser.conftest import MakeTablet
from tests.browser.halfway import half_done
from tests.browser.record import record
from tests.support.server import Server

READ = "read/A/torqued free"
WITH_HISTORY = "SAD-20-001"


@pytest.fixture
def setup(shared_shop: Server, plate: str) -> str:
    """A setup that has come to the reading at A."""
    return half_done(shared_shop.url, READ, plate=plate).setup


@pytest.fixture
def reading(shared_shop: Server, plate: str, setup: str, tablet: MakeTablet) -> Bench:
    """A tablet that waits for that reading."""
    bench = tablet(shared_shop.url)
    bench.open()
    bench.take_over(plate)
    bench.at(READ)
    bench.ready()
    return bench


def test_only_legal_keys_are_there_and_an_illegal_one_flashes_and_changes_nothing(
    reading: Bench,
) -> None:
    keys = reading.page.locator("[data-key]").evaluate_all("all => all.map(one => one.dataset.key)")
    assert sorted(keys) == sorted([*"0123456789", "sign", "back", "enter"])
    expect(reading.find("key", "enter")).to_be_disabled()
    reading.type_number("12.34")
    display = reading.page.locator(".display")
    before = display.get_attribute("class")
    reading.keys("5")
    expect(reading.find("display")).to_have_text("+12.34")
    expect(display).not_to_have_attribute("class", str(before))


def test_a_value_between_the_marks_is_asked_about_and_may_stand(reading: Bench) -> None:
    reading.burst("0.033")
    expect(reading.find("display")).to_have_text("+0.033")
    reading.enter()
    reading.says("Look once more")
    reading.says("this value lies between them")
    reading.go(reading.find("doubt-keep"))
    reading.main()
    reading.at("lock")


def test_one_whole_turn_off_is_asked_about_and_may_be_typed_again(
    shared_shop: Server, tablet: MakeTablet
) -> None:
    setup = half_done(shared_shop.url, READ, plate=WITH_HISTORY).setup
    reading = tablet(shared_shop.url)
    reading.open()
    reading.take_over(WITH_HISTORY)
    reading.at(READ)
    reading.type_number("1.01")
    reading.enter()
    reading.says("one whole turn from what this plate usually shows")
    reading.main()
    reading.type_reading("0.01")
    reading.at("lock")
    reading.all_on_server()
    (taken,) = record(reading.url, setup).of_step(READ)
    assert taken["data"]["value"] == "0.01"


def test_a_burst_of_a_keyboard_wedge_is_shown_raw_and_read_and_its_enter_is_swallowed(
    reading: Bench, setup: str
) -> None:
    assert reading.burst("-0,02") == [*"-0,02", "Enter"]
    expect(reading.find("display")).to_have_text("\u22120.02")
    reading.says("from the gauge: -0,02")
    reading.at(READ)
    reading.enter()
    reading.main()
    reading.at("lock")
    reading.all_on_server()
    (taken,) = record(reading.url, setup).of_step(READ)
    fields = ("value", "raw", "source", "unit")
    assert [taken["data"][name] for name in fields] == ["-0.02", "-0,02", "wedge", "mm"]


def test_a_value_is_set_on_the_dial_turns_first_and_then_the_pointer(
    reading: Bench, setup: str
) -> None:
    reading.tap(reading.find("pad-mode", "dial"))
    reading.tap(reading.find("turns", "0"))
    for _ in range(3):
        reading.tap(reading.find("mark", "more"))
    expect(reading.find("display")).to_have_text("+0.03")
    reading.enter()
    reading.main()
    reading.at("lock")
    reading.all_on_server()
    (taken,) = record(reading.url, setup).of_step(READ)
    assert (taken["data"]["value"], taken["data"]["source"]) == ("0.03", "dial")


def test_the_limits_are_shown_only_after_the_value_is_kept(reading: Bench) -> None:
    reading.type_reading("0.01")
    reading.work_until("read/A/torqued locked")
    expect(reading.page.locator("section.do")).not_to_contain_text("0.05")
    reading.type_reading("0.01")
    reading.says("within \u22120.05 to 0.05 mm")
