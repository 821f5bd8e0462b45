"""A tablet that cannot send: its records are saved on it, handed in by a lead, and stored once."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from playwright.sync_api import ViewportSize, expect

from tests.browser.bench import Bench
from tests.browser.conftest import MakeOffice, MakeTablet
from tests.browser.looks import axe_findings, overflow
from tests.browser.office import Office
from tests.browser.record import open_setup, record
from tests.support.server import Server

PHONE: ViewportSize = {"width": 390, "height": 844}
PUSH = "**/api/sync/push"


def save_records(bench: Bench, folder: Path) -> Path:
    """As the bench's recovery page saves them."""
    bench.page.goto(f"{bench.url}/recover")
    with bench.page.expect_download() as started:
        bench.find("rescue-save").click()
    path = folder / started.value.suggested_filename
    started.value.save_as(path)
    return path


def hand_in(desk: Office, file: Path) -> None:
    desk.open("/crew")
    desk.follow("Hand in a tablet's file")
    desk.page.set_input_files("input[type=file]", file)
    desk.press("Hand in the file")


def tells(desk: Office, stored: int, already: int, aside: int) -> None:
    for name, amount in (("stored", stored), ("already", already), ("aside", aside)):
        words = f"{amount} record" if amount == 1 else f"{amount} records"
        expect(desk.page.locator(f"[data-{name}]")).to_have_text(words)


def test_a_tablet_that_cannot_send_is_saved_handed_in_and_comes_back_later(
    shop: Server, tablet: MakeTablet, office: MakeOffice, tmp_path: Path
) -> None:
    bench = tablet(shop.url)
    bench.open()
    expect(bench.find("plate", "SAD-20-001")).to_be_visible()
    bench.caught_up()
    bench.complaints.server_may_vanish = True
    bench.context.set_offline(True)
    bench.start_setup()
    bench.work_until("clean/stop/S2")
    bench.page.route(PUSH, lambda route: route.abort())
    bench.context.set_offline(False)
    kept = bench.kept()
    assert kept == len(bench.rows("own")) > 2
    numbers = [row["n"] for row in bench.rows("own")]
    saved = save_records(bench, tmp_path)

    desk = office(shop.url, "B-03")
    hand_in(desk, saved)
    tells(desk, kept, 0, 0)
    setup = open_setup(shop.url)
    (stored,) = record(shop.url, setup).numbers.values()
    assert stored == numbers
    hand_in(desk, saved)
    tells(desk, 0, kept, 0)
    assert list(record(shop.url, setup).numbers.values()) == [numbers]
    desk.follow("plate SAD-20-001")
    expect(desk.page).to_have_url(f"{shop.url}/setups/{setup}")

    bench.page.unroute(PUSH)
    with bench.page.expect_response(PUSH) as answered:
        bench.open()
    outcomes = [one["outcome"] for one in answered.value.json()["results"]]
    assert outcomes[:kept] == ["already"] * kept
    bench.all_on_server()
    bench.go_on()
    bench.main()
    bench.all_on_server()
    own = [row["n"] for row in bench.rows("own")]
    assert len(own) > kept
    assert list(record(shop.url, setup).numbers.values()) == [own]


def test_handing_in_is_readable_on_a_desk_and_a_phone(
    shop: Server, tablet: MakeTablet, office: MakeOffice, tmp_path: Path
) -> None:
    bench = tablet(shop.url)
    bench.open()
    bench.start_setup()
    bench.all_on_server()
    saved = save_records(bench, tmp_path)
    broken = tmp_path / "broken.json"
    broken.write_text(saved.read_text("utf-8")[:-40], "utf-8")
    unsigned = tmp_path / "unsigned.json"
    text = saved.read_text("utf-8")
    unsigned.write_text(text.replace('\\"kind\\":\\"', '\\"kind\\": \\"'), "utf-8")
    for size in (None, PHONE):
        desk = office(shop.url, "B-03", size) if size else office(shop.url, "B-03")
        desk.expect_refusals()
        hand_in(desk, broken)
        expect(desk.page.locator("#b-upload")).to_contain_text("it is not JSON")
        assert overflow(desk.page) + axe_findings(desk.page) == []
        hand_in(desk, unsigned)
        tells(desk, 0, 0, len(bench_rows(saved)))
        assert overflow(desk.page) + axe_findings(desk.page) == []
        hand_in(desk, saved)
        tells(desk, 0, len(bench_rows(saved)), 0)
        assert overflow(desk.page) + axe_findings(desk.page) == []
        desk.open("/hand-in")
        assert overflow(desk.page) + axe_findings(desk.page) == []


def bench_rows(saved: Path) -> list[Any]:
    rows: list[Any] = json.loads(saved.read_text("utf-8"))["events"]
    return rows
