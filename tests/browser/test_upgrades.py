"""Tablets that come from an earlier release, and builds that arrive damaged or in the middle of work."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from api.domain.events import hash_of, parse
from tests.browser import faults
from tests.browser.builds import NEW_BUILD, build_of, with_new_build
from tests.browser.conftest import MakeTablet
from tests.browser.enrolling import code_for
from tests.browser.halfway import FACTS, OtherTablet
from tests.browser.record import open_setup, record
from tests.browser.shop_folder import copy_folder
from tests.support.checkout import ROOT
from tests.support.server import Server

LATEST_BUILD = "f0e1d2c3b4a5"
# Look for a new build now, and tell how its installation ended.
UPDATE = """async () => {
  const kept = await navigator.serviceWorker.getRegistration('/bench');
  const ended = new Promise((found) => kept.addEventListener('updatefound', () => {
    const {installing} = kept;
    installing.addEventListener('statechange', () => found(installing.state));
  }));
  await kept.update();
  return ended;
}"""
PORTAL = b"<!doctype html><title>Welcome to the guest network</title>"


def rows_of(other: OtherTablet) -> list[dict[str, Any]]:
    """As the first release kept them: no signature, no outcome yet."""
    empty: dict[str, Any] = {"outcome": None, "seq": None, "flags": [], "message": None}
    return [
        {"n": n, "id": parse(text).id, "setup": other.setup, "text": text, "hash": hash_of(text)}
        | empty
        for n, text in enumerate(other.texts, start=1)
    ]


def test_records_of_the_first_release_are_kept_signed_and_sent_by_this_one(
    shared_shop: Server, plate: str, tablet: MakeTablet
) -> None:
    other = OtherTablet(shared_shop.url)
    other.name = str(uuid.uuid4())
    other.open_plate(plate, "T-03", "I-01", FACTS)
    other.write("step done", "clean/top")
    chain = {"tablet": other.name, "n": other.n, "prev": other.prev}
    bench = tablet(shared_shop.url)
    faults.first_release(bench.page, shared_shop.url, rows_of(other), chain=chain)
    bench.page.goto(f"{shared_shop.url}/bench#enrol={code_for(shared_shop.url)}")
    expect(bench.find("records")).to_have_attribute("data-kept", "2")
    bench.main()
    bench.all_on_server()
    assert [row["text"] for row in bench.rows("own")] == other.texts
    assert all(row["sig"] for row in bench.rows("own"))
    bench.choose_plate(plate)
    bench.choose_badge(other.person)
    bench.main()
    bench.at("clean/underside")
    bench.main()
    bench.all_on_server()
    whole = record(shared_shop.url, other.setup)
    numbers = whole.numbers[other.name]
    assert numbers == list(range(1, len(numbers) + 1))


def test_a_tablet_two_builds_behind_works_on_and_then_takes_the_latest(
    filled_folder: Path, tmp_path: Path, tablet: MakeTablet
) -> None:
    data = copy_folder(filled_folder, tmp_path / "shop")
    later = with_new_build(tmp_path / "latest", LATEST_BUILD)
    with_new_build(tmp_path / "between")
    with Server(data) as now:
        bench = tablet(now.url)
        bench.open()
        bench.shell_is_kept()
        bench.start_setup()
        bench.complaints.server_may_vanish = True
    bench.main()
    for checkout in (tmp_path / "between", later):
        with Server(data, now.port, checkout=checkout):
            if checkout == later:
                bench.open()
                bench.go_on()
                bench.main()
                bench.all_on_server()
                bench.new_shell_waits()
                setup = open_setup(now.url)
                whole = record(now.url, setup)
                assert {one["build"] for one in whole.events} == {build_of(ROOT)}
                bench.go(bench.find("pause"))
                bench.go(bench.find("pause-reason", "left"))
                bench.leave(bench.find("update"))
                built = bench.page.evaluate("document.documentElement.dataset.build")
                assert built == LATEST_BUILD


def missing(dist: Path) -> None:
    next((dist / "icons").glob("*.svg")).unlink()


def a_portal(dist: Path) -> None:
    (dist / "bench.css").write_bytes(PORTAL)


def another_file(dist: Path) -> None:
    """Right length, wrong content: only the hash tells."""
    whole = (dist / "bench.js").read_bytes()
    (dist / "bench.js").write_bytes(whole[:-1] + b" ")


@pytest.mark.parametrize("damage", [missing, a_portal, another_file])
def test_a_broken_precache_is_thrown_away_and_the_old_shell_goes_on(
    filled_folder: Path, tmp_path: Path, tablet: MakeTablet, damage: Callable[[Path], None]
) -> None:
    data = copy_folder(filled_folder, tmp_path / "shop")
    broken = with_new_build(tmp_path / "next")
    damage(broken / "web/dist")
    with Server(data) as now:
        bench = tablet(now.url)
        bench.open()
        bench.shell_is_kept()
        bench.start_setup()
        bench.complaints.server_may_vanish = True
    bench.complaints.expected = ("the server responded with a status of 404",)
    with Server(data, now.port, checkout=broken):
        assert bench.page.evaluate(UPDATE) == "redundant"
        bench.open()
        assert bench.page.evaluate("document.documentElement.dataset.build") == build_of(ROOT)
        bench.go_on()
        bench.main()
        bench.all_on_server()
        names = bench.page.evaluate("caches.keys()")
        assert names == [f"clampbook-shell-{build_of(ROOT)}"]
        assert NEW_BUILD not in str(names)
