"""To settle, in a real browser: found in the menu, decided by mouse and by keyboard, at every size."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, ViewportSize, expect

from api.means import means_for
from api.settings import Settings
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases import designs
from api.use_cases.ports import Means
from api.use_cases.records import Seen, accept_events
from tests.browser.conftest import MakeOffice
from tests.browser.looks import axe_findings, overflow
from tests.browser.shop_folder import copy_folder
from tests.support.script import Tablet
from tests.support.server import Server
from tests.support.shop import push

CONFLICT = "01920000-0000-7000-8000-00000000c001"
LATE = "01920000-0000-7000-8000-00000000c002"
BROKEN = '{"id": "<b>not a uuid</b>", "kind": "note", "data": {"text": "hello"}}'
SIZES: tuple[ViewportSize, ...] = (
    {"width": 1280, "height": 800},
    {"width": 1024, "height": 768},
    {"width": 390, "height": 844},
)
KINDS = ("forked", "other-chain", "two-answers", "late", "set-aside", "waiting")


@dataclass
class Place:
    """The shop in a folder, before its server starts."""

    database: Database
    means: Means

    @property
    def uow(self) -> SqlUnitOfWork:
        return SqlUnitOfWork(self.database)


def doubt(folder: Path) -> None:
    """One item of nearly every kind, made by scripted tablets."""
    settings = Settings(data=folder, database_url="")
    with closing(Database(settings.database)) as database:
        place = Place(database, means_for(settings))
        revision = designs.get_revision(place.uow, "SAD-20", "B")
        steps: list[dict[str, Any]] = (revision.sheet or {})["steps"]
        first = Tablet("tab-7", setup=CONFLICT)
        second = Tablet("tab-8", setup=CONFLICT, person="B-02")
        first.open(plate="SAD-20-003", revision_hash=revision.hash)
        for one in (first, second):
            one.do(steps[0])
            push(place, one)
        seen = Seen(1, "f" * 64)
        accept_events(place.uow, place.means, "tab-8", "test", [], [], seen=seen)
        late = Tablet("tab-9", setup=LATE)
        late.open(plate="SAD-20-001", revision_hash=revision.hash)
        list(late.work(steps, "sign"))
        late.sign([])
        late.write("after-signature addition", None, adds="note", text="chip under pad 2")
        push(place, late, [*late.texts[:4], *late.texts[5:]])
        push(place, late, [BROKEN])
        copy = Tablet("tab-9", setup=CONFLICT)
        copy.open(plate="SAD-20-003", revision_hash=revision.hash)
        push(place, copy)


@pytest.fixture
def doubtful_shop(filled_folder: Path, tmp_path: Path) -> Iterator[Server]:
    folder = copy_folder(filled_folder, tmp_path / "shop")
    doubt(folder)
    with Server(folder) as started:
        yield started


def item_paths(page: Page) -> list[str]:
    links = page.locator("[data-item] .say p:first-child a").all()
    return [str(link.get_attribute("href")) for link in links]


def kind_of(path: str) -> str:
    return path.split("/")[2]


def test_every_kind_of_item_is_readable_at_every_size_and_satisfies_axe(
    doubtful_shop: Server, office: MakeOffice
) -> None:
    wrong: dict[str, list[str]] = {}
    for size in SIZES:
        desk = office(doubtful_shop.url, "B-03", size)
        desk.open("/to-settle")
        paths = item_paths(desk.page)
        assert set(KINDS) <= {kind_of(one) for one in paths}
        pages = ["/to-settle", "/settled", f"/setups/{LATE}/add", f"/setups/{LATE}", *paths]
        for path in pages:
            assert desk.open(path).status == 200
            found = overflow(desk.page)
            found += axe_findings(desk.page) if size is not SIZES[1] else []
            if found:
                wrong[f"{size['width']} {path}"] = found
        desk.close()
    assert wrong == {}


def test_a_lead_lets_one_of_two_answers_stand_and_the_number_in_the_menu_falls(
    doubtful_shop: Server, office: MakeOffice
) -> None:
    desk = office(doubtful_shop.url, "B-03")
    desk.open("/plates")
    menu = desk.page.get_by_role("navigation", name="Main")
    before = int(menu.locator(".amount").inner_text())
    menu.get_by_role("link", name="To settle").click()
    desk.page.get_by_role("navigation", name="Kinds").get_by_role(
        "link", name=re.compile("^Two answers")
    ).click()
    desk.page.locator("[data-item] .say a").first.click()
    desk.page.get_by_label("answer 2, of B-02").check()
    desk.fill("Reason", "B-02 had the plate in hand")
    desk.press("Let this one stand")
    desk.says("It is settled, under your badge and with your reason.")
    assert int(menu.locator(".amount").inner_text()) == before - 1
    assert "two-answers" not in [kind_of(one) for one in item_paths(desk.page)]
    desk.open(f"/setups/{CONFLICT}")
    desk.says("Two answers settled")
    desk.says("B-02 had the plate in hand")
    desk.open("/settled")
    [row] = desk.rows("Decisions")
    assert "one answer chosen" in row and "B-03" in row


def test_what_was_set_aside_is_settled_by_keyboard_alone(
    doubtful_shop: Server, office: MakeOffice
) -> None:
    desk = office(doubtful_shop.url, "B-03")
    desk.open("/to-settle?kind=set-aside")
    of_all = len(item_paths(desk.page))
    link = desk.page.locator("[data-item] .say a").first
    for _ in range(40):
        if link.evaluate("one => one === document.activeElement"):
            break
        desk.page.keyboard.press("Tab")
    expect(link).to_be_focused()
    desk.page.keyboard.press("Enter")
    expect(desk.page.locator("pre.whole")).to_be_visible()
    for _ in range(40):
        if desk.page.locator("textarea:focus").count():
            break
        desk.page.keyboard.press("Tab")
    desk.page.keyboard.type("a test of the new tablet")
    desk.page.keyboard.press("Tab")
    desk.page.keyboard.press("Enter")
    desk.says("It is settled")
    desk.open("/to-settle?kind=set-aside")
    assert len(item_paths(desk.page)) == of_all - 1


def test_a_tablets_text_is_shown_and_never_run(doubtful_shop: Server, office: MakeOffice) -> None:
    desk = office(doubtful_shop.url, "B-03")
    desk.open("/to-settle?kind=set-aside")
    for path in item_paths(desk.page):
        desk.open(path)
        if BROKEN in desk.page.locator("pre.whole").inner_text():
            break
    expect(desk.page.locator("pre.whole")).to_have_text(BROKEN)
    assert desk.page.locator("main b", has_text="not a uuid").count() == 0
    assert any("data.text" in row and "hello" in row for row in desk.rows("Fields"))


def test_of_two_leads_at_two_desks_the_second_is_told_who_was_first(
    doubtful_shop: Server, office: MakeOffice
) -> None:
    first, second = office(doubtful_shop.url, "B-03"), office(doubtful_shop.url, "B-05")
    first.open("/to-settle?kind=late")
    [path] = [one for one in item_paths(first.page) if LATE in one]
    for desk in (first, second):
        desk.open(path)
        desk.fill("Reason", "only a remark")
    first.press("Accept them as they are")
    first.says("It is settled")
    second.expect_refusals()
    second.press("Accept them as they are")
    second.says("B-03 has settled this at")
    second.says("only a remark")


def test_an_operator_reads_an_item_and_finds_no_button_to_settle_it(
    doubtful_shop: Server, office: MakeOffice
) -> None:
    desk = office(doubtful_shop.url, "B-01")
    desk.open("/to-settle")
    desk.open(item_paths(desk.page)[0])
    desk.says("A lead or an owner settles it.")
    assert desk.main.get_by_role("button").count() == 0
    assert desk.main.get_by_role("textbox").count() == 0


def test_on_paper_the_list_has_no_menu_and_keeps_every_item(
    doubtful_shop: Server, office: MakeOffice
) -> None:
    desk = office(doubtful_shop.url, "B-03")
    desk.open("/to-settle")
    desk.page.emulate_media(media="print")
    expect(desk.page.get_by_role("navigation", name="Main")).to_be_hidden()
    expect(desk.page.get_by_role("navigation", name="Kinds")).to_be_hidden()
    items = desk.page.locator("[data-item]")
    for one in items.all():
        expect(one).to_be_visible()
    assert overflow(desk.page) == []
