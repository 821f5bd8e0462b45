"""A tablet becomes one of the shop's by a lead's code; what it does when the shop does not know it."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

from playwright.sync_api import expect

from tests.browser.bench import Bench
from tests.browser.conftest import MakeTablet
from tests.browser.crew import end_sessions, revoke
from tests.browser.enrolling import code_for
from tests.browser.record import open_setup, record
from tests.browser.tablet import Tablet
from tests.support.server import Server

TURNED_AWAY = ("the server responded with a status of 40",)
NOT_ENROLLED = "not enrolled: records stay on this tablet"


def type_code(bench: Bench, code: str) -> None:
    bench.keys(code.replace("-", ""))


def tablet_of(bench: Bench) -> str:
    (chain,) = bench.rows("chain")
    return str(chain["tablet"])


def test_a_new_tablet_asks_for_a_code_and_says_what_is_wrong_with_the_one_it_got(
    shared_shop: Server, tablet: MakeTablet
) -> None:
    bench = tablet(shared_shop.url)
    bench.complaints.expected = TURNED_AWAY
    bench.page.goto(f"{shared_shop.url}/bench")
    expect(bench.page.locator('main[data-screen="enrol"]')).to_be_visible()
    expect(bench.main_action).to_be_disabled()
    type_code(bench, "22222-22222")
    bench.tap(bench.main_action)
    expect(bench.find("enrol-trouble", "unknown")).to_be_visible()
    type_code(bench, code_for(shared_shop.url, "Bench left"))
    bench.main()
    expect(bench.page.locator('main[data-screen="plates"]')).to_be_visible()
    bench.all_on_server()
    bench.go(bench.find("settings"))
    bench.says("Bench left")


def test_a_code_is_good_for_one_tablet_only(shared_shop: Server, tablet: MakeTablet) -> None:
    code = code_for(shared_shop.url)
    first, second = tablet(shared_shop.url), tablet(shared_shop.url)
    second.complaints.expected = TURNED_AWAY
    for each in (first, second):
        each.page.goto(f"{shared_shop.url}/bench#enrol={code}")
        expect(each.page.locator('main[data-screen="enrol"]')).to_be_visible()
        each.tap(each.main_action)
    expect(first.page.locator('main[data-screen="plates"]')).to_be_visible()
    expect(second.find("enrol-trouble", "unknown")).to_be_visible()


def test_a_scanned_code_is_taken_like_a_typed_one(shared_shop: Server, tablet: MakeTablet) -> None:
    bench = tablet(shared_shop.url)
    bench.complaints.expected = TURNED_AWAY
    bench.page.goto(f"{shared_shop.url}/bench")
    expect(bench.page.locator('main[data-screen="enrol"]')).to_be_visible()
    bench.ready()
    bench.burst(f"{shared_shop.url}/bench#enrol={code_for(shared_shop.url)}")
    bench.main()
    expect(bench.page.locator('main[data-screen="plates"]')).to_be_visible()


def test_the_code_of_a_link_leaves_address_and_history_at_once(
    shared_shop: Server, tablet: MakeTablet
) -> None:
    bench = tablet(shared_shop.url)
    code = code_for(shared_shop.url)
    bench.page.goto(f"{shared_shop.url}/bench#enrol={code}")
    expect(bench.find("display")).to_have_text(code)
    assert bench.page.url == f"{shared_shop.url}/bench"
    assert bench.page.evaluate("performance.getEntriesByType('navigation').length") == 1
    bench.main()
    bench.page.go_back()
    assert code.replace("-", "") not in bench.page.url


def test_without_a_server_the_code_stays_and_the_screen_says_so(
    shop: Server, tablet: MakeTablet
) -> None:
    bench = tablet(shop.url)
    bench.complaints.server_may_vanish = True
    bench.page.goto(f"{shop.url}/bench#enrol={code_for(shop.url)}")
    expect(bench.main_action).to_be_enabled()
    shop.stop()
    bench.tap(bench.main_action)
    expect(bench.find("enrol-trouble", "unreached")).to_be_visible()
    shop.start()
    bench.main()
    expect(bench.page.locator('main[data-screen="plates"]')).to_be_visible()


def test_a_session_that_ended_is_made_anew_without_a_touch(
    shop: Server, tablet: MakeTablet
) -> None:
    bench = tablet(shop.url)
    bench.open()
    bench.start_setup()
    bench.main()
    bench.all_on_server()
    setup = open_setup(shop.url)
    bench.complaints.expected = TURNED_AWAY
    end_sessions(shop.data)
    bench.main()
    expect(bench.find("records")).to_have_attribute("data-kept", "1")
    bench.all_on_server()
    assert tablet_of(bench) in bench_numbers(bench, setup, shop)


def bench_numbers(bench: Bench, setup: str, shop: Server) -> dict[str, list[int]]:
    """Numbers by tablet, read with the bench's own session."""
    answer = bench.page.request.get(f"{shop.url}/api/setups/{setup}")
    found: dict[str, list[int]] = {}
    for one in answer.json()["events"]:
        found.setdefault(one["event"]["tablet"], []).append(one["event"]["n"])
    return found


def test_a_server_restored_without_the_tablet_loses_nothing_once_it_is_enrolled_again(
    shop: Server, tablet: MakeTablet, tmp_path: Path
) -> None:
    yesterday = shutil.copytree(shop.data, tmp_path / "yesterday")
    bench = tablet(shop.url)
    bench.open()
    bench.start_setup()
    bench.work_until("clean/stop/S2")
    bench.all_on_server()
    setup = open_setup(shop.url)
    bench.complaints.server_may_vanish = True
    bench.complaints.expected = TURNED_AWAY
    shop.stop()
    shutil.rmtree(shop.data)
    shutil.copytree(yesterday, shop.data)
    shop.start()
    bench.open()
    bench.go_on()
    bench.main()
    expect(bench.find("records")).to_contain_text(NOT_ENROLLED)
    bench.go(bench.find("pause"))
    bench.go(bench.find("pause-reason", "left"))
    bench.go(bench.find("enrol"))
    type_code(bench, code_for(shop.url))
    bench.main()
    bench.all_on_server()
    numbers = bench_numbers(bench, setup, shop)[tablet_of(bench)]
    assert sorted(numbers) == [row["n"] for row in bench.rows("own")]


def test_a_revoked_tablet_hands_in_what_it_has_and_starts_nothing_new(
    shop: Server, tablet: MakeTablet
) -> None:
    bench = tablet(shop.url)
    bench.open()
    bench.start_setup()
    bench.work_until("clean/stop/S2")
    bench.all_on_server()
    setup = open_setup(shop.url)
    bench.complaints.expected = TURNED_AWAY
    revoke(shop.data, tablet_of(bench))
    bench.main()
    expect(bench.find("standing", "revoked")).to_be_visible()
    expect(bench.find("records")).to_have_attribute("data-kept", "0")
    expect(bench.find("records")).to_contain_text("taken out of use")
    assert "tablet revoked" in record(shop.url, setup).body["events"][-1]["flags"]
    bench.go(bench.find("pause"))
    bench.go(bench.find("pause-reason", "left"))
    expect(bench.find("plate", "SAD-20-001")).to_have_attribute("aria-disabled", "false")
    free = bench.page.locator('[data-plate][data-state="free"]').first
    expect(free).to_have_attribute("aria-disabled", "true")


def test_the_newest_proof_of_the_servers_records_is_shown_and_saved(
    shop: Server, tablet: MakeTablet
) -> None:
    bench = tablet(shop.url)
    bench.open()
    bench.start_setup()
    bench.main()
    bench.all_on_server()
    bench.open()
    bench.go_on()
    bench.go(bench.find("pause"))
    bench.go(bench.find("pause-reason", "left"))
    bench.go(bench.find("settings"))
    (server,) = bench.rows("server")
    head = server["checkpoint"]["head"]
    expect(bench.find("proven")).to_have_attribute("data-proven", str(server["checkpoint"]["seq"]))
    expect(bench.find("proven")).to_contain_text(head[:12])
    assert re.search(
        rf"Records up to {server['checkpoint']['seq']} proven", bench.page.inner_text("#bench")
    )
    bench.page.goto(f"{shop.url}/recover")
    with bench.page.expect_download() as started:
        bench.find("rescue-save").click()
    saved = started.value.path().read_text("utf-8")
    assert f'"head":"{head}"' in saved
    assert '"sigs":[null' not in saved


def test_over_plain_http_on_another_host_the_bench_says_that_it_cannot_be_enrolled(
    shared_shop: Server, insecure_page: Tablet
) -> None:
    bench = insecure_page
    bench.complaints.expected = (*TURNED_AWAY, "Cross-Origin-Opener-Policy header has been ignored")
    bench.page.goto(f"http://clamp.test:{shared_shop.port}/bench")
    expect(bench.find("insecure")).to_contain_text("the connection is not secure")
    expect(bench.find("key")).to_have_count(0)
