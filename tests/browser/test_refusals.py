"""What goes wrong at the bench is named there, and both sides of it stay on record."""

from __future__ import annotations

import re

from playwright.sync_api import expect

from tests.browser.conftest import MakeOffice, MakeTablet
from tests.browser.halfway import half_done, order_of
from tests.browser.record import record, wait_for_verdict
from tests.support.server import Server

FREE = "read/A/torqued free"
LOCKED = "read/A/torqued locked"


def test_a_wrench_in_pound_inches_shows_what_to_set_on_it(
    shared_shop: Server, plate: str, tablet: MakeTablet
) -> None:
    step = f"torque/3/{order_of(shared_shop.url, plate)[0]}"
    other = half_done(shared_shop.url, step, plate=plate, tool="T-05")
    bench = tablet(shared_shop.url)
    bench.open()
    bench.take_over(plate)
    bench.at(step)
    expect(bench.find("number")).to_have_text("106")
    expect(bench.find("unit")).to_have_text("lbf·in")
    expect(bench.main_action).to_have_text("It slipped")
    bench.main()
    bench.all_on_server()
    (tightened,) = record(shared_shop.url, other.setup).of_step(step)
    assert tightened["data"]["set"] == {"value": "106", "unit": "lbf*in"}
    assert tightened["data"]["after"] == "slipped"


def test_an_overdue_wrench_and_a_coarse_indicator_are_refused_with_a_reason(
    shared_shop: Server, plate: str, tablet: MakeTablet
) -> None:
    bench = tablet(shared_shop.url)
    bench.open()
    bench.choose_plate(plate)
    bench.choose_badge("B-01")
    bench.main()
    wrench, indicator = bench.find("tool", "T-09"), bench.find("indicator", "I-02")
    expect(wrench).to_contain_text("calibration was due on")
    expect(indicator).to_contain_text("too coarse for a limit of 0.05 mm")
    for refused in (wrench, indicator):
        expect(refused).to_have_attribute("aria-disabled", "true")
        bench.ready()
        refused.click(force=True)
        expect(refused).to_have_attribute("aria-pressed", "false")
    bench.choose_tools("T-03", "I-01")
    expect(bench.main_action).to_be_enabled()


def test_locking_is_refused_while_a_clamp_is_open_and_the_clamp_is_named(
    shared_shop: Server, plate: str, tablet: MakeTablet
) -> None:
    first, *_, last = order_of(shared_shop.url, plate)
    step = f"torque/3/{last}"
    other = half_done(shared_shop.url, step, plate=plate)
    bench = tablet(shared_shop.url)
    bench.open()
    bench.take_over(plate)
    bench.work_until(step)
    bench.go(bench.find("likely-trouble"))
    bench.says("Not yet")
    bench.says(f"Still open: clamp {last.removeprefix('C')}")
    bench.main()
    bench.at(step)
    bench.main()
    bench.at(f"recheck/{first}")
    bench.all_on_server()
    kinds = [one["kind"] for one in record(shared_shop.url, other.setup).of_step(step)]
    assert kinds == ["trouble", "clamp tightened"]


def test_a_reading_out_of_limits_is_taken_again_blind_with_a_reason_and_judged_by_a_lead(
    shared_shop: Server, plate: str, tablet: MakeTablet, office: MakeOffice
) -> None:
    other = half_done(shared_shop.url, LOCKED, plate=plate)
    bench = tablet(shared_shop.url)
    bench.open()
    bench.take_over(plate)
    bench.at(LOCKED)
    assert not re.search(r"0\.05", bench.page.locator("section.do").inner_text())
    bench.type_reading("0.08")
    bench.says("Point A is outside its limits")
    expect(bench.page.locator("section.do")).not_to_contain_text("0.08")
    bench.type_number("0.07")
    bench.enter()
    bench.tap(bench.main_action)
    expect(bench.find("number")).to_have_text("+0.07")
    bench.give_reason()
    bench.main()
    bench.work_until("judge")
    expect(bench.find("badge", "B-01")).to_have_count(0)
    bench.go(bench.find("badge", "B-03"))
    bench.tap(bench.find("judge", "accept"))
    bench.ready()
    bench.give_reason()
    bench.main()
    bench.at("sign")
    bench.all_on_server()

    whole = record(shared_shop.url, other.setup)
    entries = [(one["data"]["entry"], one["data"]["value"]) for one in whole.of_step(LOCKED)]
    assert entries == [(1, "0.08"), (2, "0.07")]
    assert whole.of_step(LOCKED)[1]["data"]["reason"]
    (judged,) = whole.of_kind("judged")
    assert (judged["person"], judged["data"]["judgement"]) == ("B-03", "accept")
    desk = office(shared_shop.url, "B-03")
    desk.open(f"/setups/{other.setup}")
    (row,) = [row for row in desk.rows("Readings") if "torqued locked" in row]
    assert "0.08" in row and "0.07" in row and "out" in row


def test_a_mover_asks_for_another_round_of_the_recheck(
    shared_shop: Server, plate: str, tablet: MakeTablet
) -> None:
    clamp, *_, last_clamp = order_of(shared_shop.url, plate)
    first, last = f"recheck/{clamp}", f"recheck/{last_clamp}"
    other = half_done(shared_shop.url, first, plate=plate)
    bench = tablet(shared_shop.url)
    bench.open()
    bench.take_over(plate)
    bench.at(first)
    bench.go(bench.find("moved"))
    bench.work_until(last)
    bench.main()
    bench.at(first)
    bench.says(f"Clamp {clamp.removeprefix('C')} still turned")
    bench.work_until(FREE)
    bench.all_on_server()
    whole = record(shared_shop.url, other.setup)
    assert [one["kind"] for one in whole.of_step(first)] == [
        "clamp moved on re-check",
        "step done",
    ]
    assert whole.answers[last] == 2


def test_a_late_correction_asks_for_a_new_signature_and_both_values_stay_in_the_record(
    shared_shop: Server, plate: str, tablet: MakeTablet, office: MakeOffice
) -> None:
    other = half_done(shared_shop.url, "sign", plate=plate, reading="0.04")
    bench = tablet(shared_shop.url)
    bench.open()
    bench.take_over(plate)
    bench.at("sign")
    bench.pin("4101")
    bench.at("machine")
    wait_for_verdict(shared_shop.url, other.setup)
    bench.go(bench.find("recorded"))
    bench.go(bench.find("correct").first)
    bench.type_number("0.02")
    bench.enter()
    bench.give_reason()
    bench.main()
    bench.at("sign")
    bench.says("Sign again: something was added after the signature")
    bench.pin("4101")
    bench.at("machine")
    bench.all_on_server()
    wait_for_verdict(shared_shop.url, other.setup)

    whole = record(shared_shop.url, other.setup)
    assert whole.kinds[-3:] == ["signed", "after-signature addition", "signed"]
    assert whole.verdicts == ["confirmed", "confirmed"]
    desk = office(shared_shop.url, "B-03")
    desk.open(f"/setups/{other.setup}")
    (row,) = [row for row in desk.rows("Readings") if "torqued locked" in row]
    assert "0.04" in row and "0.02" in row


def test_a_wrong_pin_is_refused_and_the_right_one_then_signs(
    shared_shop: Server, plate: str, tablet: MakeTablet
) -> None:
    other = half_done(shared_shop.url, "sign", plate=plate)
    bench = tablet(shared_shop.url)
    bench.open()
    bench.take_over(plate)
    bench.at("sign")
    bench.pin("9999")
    expect(bench.find("refused")).to_be_visible()
    bench.at("sign")
    bench.pin("4101")
    bench.at("machine")
    bench.all_on_server()
    wait_for_verdict(shared_shop.url, other.setup)
    whole = record(shared_shop.url, other.setup)
    assert whole.verdicts == ["refused", "confirmed"]
    in_the_open = str(whole.body).replace(" ", "")
    assert not any(f"'{pin}'" in in_the_open for pin in ("9999", "4101"))
