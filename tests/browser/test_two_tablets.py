"""Two tablets on one setup."""

from __future__ import annotations

from playwright.sync_api import expect

from tests.browser.conftest import MakeOffice, MakeTablet
from tests.browser.record import open_setup, record
from tests.support.server import Server


def test_the_second_tablet_sees_who_has_the_setup_and_takes_it_over_while_the_first_watches(
    shared_shop: Server, plate: str, tablet: MakeTablet
) -> None:
    first, second = tablet(shared_shop.url), tablet(shared_shop.url)
    first.open()
    first.start_setup(plate, badge="B-01")
    first.work_until("clean/stop/S2")
    first.all_on_server()
    second.open()
    card = second.find("plate", plate)
    expect(card).to_contain_text("being loaded")
    expect(card).to_contain_text("B-01")
    second.choose_plate(plate)
    second.choose_badge("B-02")
    second.says("Last worked on by B-01")
    second.go(second.find("takeover"))
    second.at("clean/stop/S2")

    first.says("B-02 has taken this setup over on another tablet")
    expect(first.main_action).to_have_text("Take it back")
    second.main()
    second.all_on_server()
    setup = open_setup(shared_shop.url, plate)
    (taken,) = record(shared_shop.url, setup).of_kind("taken over")
    assert taken["person"] == "B-02"
    assert taken["data"]["from"] == "B-01"


def test_two_tablets_offline_on_one_step_give_two_answers_that_a_named_person_settles(
    shop: Server, tablet: MakeTablet, office: MakeOffice
) -> None:
    first, second = tablet(shop.url), tablet(shop.url)
    first.open()
    first.start_setup(badge="B-01")
    first.work_until("clean/stop/S1")
    first.all_on_server()
    setup = open_setup(shop.url)
    second.open()
    second.caught_up()
    expect(second.find("plate", "SAD-20-001")).to_contain_text("B-01")
    for each in (first, second):
        each.complaints.server_may_vanish = True
    shop.stop()
    second.take_over_as_it_is(badge="B-02")
    second.main()
    first.main()

    shop.start()
    first.all_on_server()
    second.all_on_server()
    second.says("Two answers for stop S1")
    second.tap(second.page.locator("[data-ready-reason]").first)
    second.go(second.page.locator("[data-keep]").first)
    second.all_on_server()
    whole = record(shop.url, setup)
    answers = whole.of_step("clean/stop/S1")
    assert {one["person"] for one in answers if one["kind"] == "step done"} == {"B-01", "B-02"}
    (settled,) = whole.of_kind("conflict resolved")
    assert settled["person"] == "B-02"
    assert settled["data"]["step"] == "clean/stop/S1"
    assert whole.body["state"]["steps"]["clean/stop/S1"]["state"] == "done"
    desk = office(shop.url, "B-03")
    desk.open(f"/setups/{setup}")
    desk.says("two tablets answered this step")
    desk.says("Two answers settled")
