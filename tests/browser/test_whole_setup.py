"""One plate from clean to signed, with the server and without it."""

from __future__ import annotations

from playwright.sync_api import expect

from tests.browser.conftest import MakeKilledTablet, MakeOffice, MakeTablet
from tests.browser.halfway import order_of
from tests.browser.office_pages import newest_setup
from tests.browser.record import open_setup, plate_state, record, wait_for_verdict
from tests.support.server import Server

PIN = "4101"


def test_a_plate_goes_from_clean_to_signed_though_the_server_stops_after_the_third_clamp(
    shop: Server, tablet: MakeTablet, office: MakeOffice
) -> None:
    bench = tablet(shop.url)
    bench.open()
    bench.start_setup()
    *first_three, fourth = [f"torque/1/{clamp}" for clamp in order_of(shop.url)[:4]]
    done = bench.work_until(fourth)
    assert [step.id for step in done[-3:]] == first_three
    bench.all_on_server()
    setup = open_setup(shop.url)

    bench.complaints.server_may_vanish = True
    shop.stop()
    before = len(done)
    done += bench.work_until("sign")
    record_count = len(done) - before
    assert bench.kept() == record_count
    expect(bench.find("records")).to_contain_text(f"{record_count} kept on this tablet")
    expect(bench.find("records")).to_contain_text("server not reached")

    shop.start()
    bench.pin(PIN)
    bench.at("machine")
    bench.all_on_server()
    wait_for_verdict(shop.url, setup)
    expect(bench.find("verdict", "confirmed")).to_be_visible()

    whole = record(shop.url, setup)
    assert whole.phase == "signed"
    assert dict(whole.answers) == dict.fromkeys(whole.planned, 1)
    assert [step.id for step in done] == whole.planned[:-1]
    assert plate_state(shop.url) == "ready"
    (numbers,) = whole.numbers.values()
    assert numbers == list(range(1, len(numbers) + 1))

    desk = office(shop.url, "B-03")
    desk.open(f"/setups/{setup}")
    assert desk.page.locator("ol.events li:not(.divide)").count() == len(whole.events)
    desk.says("confirmed")
    desk.open("/plates")
    expect(desk.page.locator("tr").filter(has_text="SAD-20-001")).to_contain_text("ready")


def test_a_cold_start_without_the_server_does_and_signs_a_whole_setup(
    shop: Server, killed_tablet: MakeKilledTablet
) -> None:
    bench = killed_tablet(shop.url)
    bench.open()
    expect(bench.find("plate", "SAD-20-001")).to_be_visible()
    bench.shell_is_kept()
    bench.quit()
    shop.stop()

    bench.complaints.server_may_vanish = True
    bench.restart()
    bench.open()
    bench.start_setup()
    done = bench.work_until("sign")
    bench.pin(PIN)
    bench.at("machine")
    expect(bench.find("verdict", "provisional")).to_be_visible()
    assert bench.kept() == len(done) + 2

    shop.start()
    bench.all_on_server()
    setup = newest_setup(shop.url)
    wait_for_verdict(shop.url, setup)
    expect(bench.find("verdict", "confirmed")).to_be_visible()
    whole = record(shop.url, setup)
    assert dict(whole.answers) == dict.fromkeys(whole.planned, 1)
    assert plate_state(shop.url) == "ready"
