"""The browser dies: what was typed is a draft, what was ticked is a record, a pass starts again."""

from __future__ import annotations

from playwright.sync_api import expect

from tests.browser.conftest import MakeKilledTablet
from tests.browser.halfway import half_done, order_of
from tests.browser.record import record
from tests.support.server import Server

READ = "read/A/torqued free"


def test_a_half_typed_reading_survives_the_death_of_the_browser(
    shared_shop: Server, plate: str, killed_tablet: MakeKilledTablet
) -> None:
    other = half_done(shared_shop.url, READ, plate=plate)
    bench = killed_tablet(shared_shop.url)
    bench.open()
    bench.take_over(plate)
    bench.at(READ)
    bench.type_number("-0.02")
    bench.draft_is_kept("2")
    bench.kill()

    bench.restart()
    bench.open()
    bench.go_on()
    bench.at(READ)
    expect(bench.find("display")).to_have_text("\u22120.02")
    bench.enter()
    bench.main()
    bench.all_on_server()
    (taken,) = record(shared_shop.url, other.setup).of_step(READ)
    assert (taken["data"]["value"], taken["data"]["source"]) == ("-0.02", "typed")


def test_a_tick_just_before_the_browser_died_is_on_the_server_once(
    shop: Server, killed_tablet: MakeKilledTablet
) -> None:
    first, second = [f"snug/{clamp}" for clamp in order_of(shop.url)[:2]]
    other = half_done(shop.url, first)
    bench = killed_tablet(shop.url)
    bench.open()
    bench.take_over()
    bench.all_on_server()
    bench.complaints.server_may_vanish = True
    shop.stop()
    bench.main()
    bench.at(second)
    bench.kill()

    shop.start()
    bench.restart()
    bench.open()
    bench.go_on()
    bench.at(second)
    bench.all_on_server()
    whole = record(shop.url, other.setup)
    assert [one["kind"] for one in whole.of_step(first)] == ["step done"]
    (mine,) = [numbers for name, numbers in whole.numbers.items() if name != other.name]
    assert mine == list(range(1, len(mine) + 1))


def test_a_browser_that_died_in_mid_pass_starts_the_pass_again_and_says_so(
    shared_shop: Server, plate: str, killed_tablet: MakeKilledTablet
) -> None:
    first, _, third, *_, last = order_of(shared_shop.url, plate)
    other = half_done(shared_shop.url, f"torque/2/{first}", plate=plate)
    bench = killed_tablet(shared_shop.url)
    bench.open()
    bench.take_over(plate)
    bench.work_until(f"torque/2/{third}")
    bench.kill()

    bench.restart()
    bench.open()
    bench.says("Pass 2 was interrupted and starts again from its first clamp.")
    bench.go_on()
    bench.at(f"torque/2/{first}")
    bench.work_until(f"torque/3/{first}")
    bench.all_on_server()
    whole = record(shared_shop.url, other.setup)
    assert [one["data"]["reason"] for one in whole.of_kind("paused")] == ["tablet restarted"]
    assert whole.answers[f"torque/2/{first}"] == 2
    assert whole.answers[f"torque/2/{last}"] == 1
