"""The service worker keeps the shell and nothing else; a new build waits for the idle screen."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.browser.builds import NEW_BUILD, build_of, with_new_build
from tests.browser.conftest import MakeTablet
from tests.browser.shop_folder import copy_folder
from tests.support.checkout import ROOT
from tests.support.server import Server

CACHED = """async () => {
  const found = {};
  for (const name of await caches.keys()) {
    const kept = await (await caches.open(name)).keys();
    found[name] = kept.map((request) => new URL(request.url).pathname);
  }
  return found;
}"""


@pytest.fixture
def next_version(filled_folder: Path, tmp_path: Path) -> Iterator[tuple[Server, Server]]:
    """The shop served by this version, and a stopped server of the next one for the same address."""
    data = copy_folder(filled_folder, tmp_path / "shop")
    now = Server(data)
    later = Server(data, now.port, checkout=with_new_build(tmp_path / "next"))
    with now:
        yield now, later
    later.kill()


def test_only_the_shell_is_in_the_cache_after_work_that_asked_the_api(
    shared_shop: Server, plate: str, tablet: MakeTablet
) -> None:
    bench = tablet(shared_shop.url)
    bench.open()
    bench.shell_is_kept()
    bench.start_setup(plate)
    bench.main()
    bench.all_on_server()
    cached = bench.page.evaluate(CACHED)
    assert list(cached) == [f"clampbook-shell-{build_of(ROOT)}"]
    (paths,) = cached.values()
    shell = json.loads((ROOT / "web/dist/build.json").read_text())["shell"]
    assert sorted(paths) == sorted({*shell, "/bench", "/bench.webmanifest"})
    assert not [path for path in paths if path.startswith("/api")]


def test_a_new_build_is_offered_only_on_the_idle_screen_and_taken_by_a_touch(
    next_version: tuple[Server, Server], tablet: MakeTablet
) -> None:
    now, later = next_version
    bench = tablet(now.url)
    bench.open()
    bench.shell_is_kept()
    bench.start_setup()
    bench.main()
    bench.all_on_server()
    bench.complaints.server_may_vanish = True
    now.stop()
    later.start()
    bench.open()
    bench.go_on()
    bench.new_shell_waits()
    expect(bench.find("update")).to_have_count(0)
    bench.main()
    bench.go(bench.find("pause"))
    bench.go(bench.find("pause-reason", "left"))
    expect(bench.find("update")).to_be_visible()
    bench.leave(bench.find("update"))
    assert bench.page.evaluate("document.documentElement.dataset.build") == NEW_BUILD
    expect(bench.find("plate", "SAD-20-001")).to_contain_text("B-01")
