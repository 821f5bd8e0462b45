"""What the screen says of a signature: never more than the server has checked."""

from __future__ import annotations

from playwright.sync_api import expect

from tests.browser.conftest import MakeTablet
from tests.browser.halfway import half_done
from tests.browser.record import record, wait_for_verdict
from tests.support.server import Server

UNCHECKED = "signed here, not yet checked by the server"


def test_a_signature_made_without_the_server_is_called_unchecked_until_it_answers(
    shop: Server, tablet: MakeTablet
) -> None:
    half_done(shop.url, "sign")
    bench = tablet(shop.url)
    bench.open()
    bench.take_over()
    bench.all_on_server()
    bench.complaints.server_may_vanish = True
    shop.stop()
    bench.pin("4101")
    bench.at("machine")
    expect(bench.find("heading")).to_contain_text("Plate SAD-20-001: signed here, not yet checked")
    expect(bench.find("verdict", "provisional")).to_contain_text(UNCHECKED)
    bench.go(bench.find("home"))
    expect(bench.find("plate", "SAD-20-001")).to_contain_text(UNCHECKED)
    shop.start()
    bench.all_on_server()
    expect(bench.find("plate", "SAD-20-001")).not_to_contain_text(UNCHECKED)
    bench.choose_plate("SAD-20-001")
    bench.choose_badge("B-01")
    expect(bench.find("verdict", "confirmed")).to_be_visible()
    expect(bench.find("heading")).to_contain_text("Plate SAD-20-001 is ready")


def test_a_plate_whose_sheet_asks_for_it_is_ready_only_when_a_second_person_has_signed(
    shop: Server, tablet: MakeTablet
) -> None:
    other = half_done(
        shop.url, "sign", plate="CLR-08-001", tool="T-07", indicator="I-03", reading="0.000"
    )
    bench = tablet(shop.url)
    bench.open()
    bench.take_over("CLR-08-001", badge="B-03")
    bench.at("sign")
    bench.pin("4103")
    expect(bench.find("second")).to_be_visible()
    expect(bench.find("ready")).to_have_count(0)
    expect(bench.find("badge", "B-03")).to_have_count(0)
    wait_for_verdict(shop.url, other.setup)
    assert record(shop.url, other.setup).phase == "working"
    bench.go(bench.find("badge", "B-04"))
    bench.pin("4104")
    bench.at("machine")
    expect(bench.find("ready")).to_be_visible()
    bench.all_on_server()
    wait_for_verdict(shop.url, other.setup)
    assert record(shop.url, other.setup).phase == "signed"
