"""Signing in, and what is on every page of the office."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import ViewportSize, expect

from tests.browser.conftest import MakeOffice
from tests.browser.looks import axe_findings, overflow
from tests.browser.office_pages import office_paths
from tests.support.server import Server

SIZES: tuple[ViewportSize, ...] = (
    {"width": 1280, "height": 800},
    {"width": 390, "height": 844},
)


def test_an_office_page_asks_for_badge_and_password_and_then_opens(
    office_shop: Server, office: MakeOffice
) -> None:
    desk = office(office_shop.url)
    desk.expect_refusals()
    desk.open("/stores/tool")
    expect(desk.page).to_have_url(re.compile("/sign-in"))
    desk.fill("Badge", "B-03")
    desk.fill("Password", "not this")
    desk.press("Sign in")
    expect(desk.page.get_by_role("alert")).to_be_visible()
    desk.fill("Password", "bench-b03")
    desk.press("Sign in")
    expect(desk.page).to_have_url(re.compile("/stores/tool$"))
    desk.press("Sign out")
    desk.says("You are signed out.")
    desk.open("/plates")
    expect(desk.page).to_have_url(re.compile("/sign-in"))


def test_every_office_page_satisfies_axe(office_shop: Server, office: MakeOffice) -> None:
    desk = office(office_shop.url)
    paths = office_paths(office_shop.url)
    found = {}
    for path in ("/sign-in", *paths):
        if path == paths[0]:
            desk.sign_in("B-05")
        assert desk.open(path).status == 200, path
        found[path] = axe_findings(desk.page)
    assert {path: what for path, what in found.items() if what} == {}


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size['width']}x{size['height']}")
def test_no_office_page_scrolls_sideways(
    office_shop: Server, office: MakeOffice, size: ViewportSize
) -> None:
    desk = office(office_shop.url, "B-05", size)
    found = {}
    for path in office_paths(office_shop.url):
        desk.open(path)
        found[path] = overflow(desk.page)
    assert {path: what for path, what in found.items() if what} == {}


def test_the_office_is_worked_by_keyboard_alone(office_shop: Server, office: MakeOffice) -> None:
    desk = office(office_shop.url)
    desk.open("/sign-in")
    desk.page.get_by_label("Badge").focus()
    desk.page.keyboard.type("B-03")
    desk.page.keyboard.press("Tab")
    desk.page.keyboard.type("bench-b03")
    desk.page.keyboard.press("Enter")
    expect(desk.page).to_have_url(re.compile("/plates$"))
    desk.page.keyboard.press("Tab")
    expect(desk.page.get_by_role("link", name="Skip to the content")).to_be_focused()
    desk.page.keyboard.press("Enter")
    expect(desk.main).to_be_focused()


def test_the_api_page_shows_its_calls_without_asking_another_site(
    office_shop: Server, office: MakeOffice
) -> None:
    desk = office(office_shop.url)
    asked: list[str] = []
    desk.page.on("request", lambda request: asked.append(request.url))
    desk.open("/api/docs")
    expect(desk.page.locator(".opblock").first).to_be_visible()
    assert [url for url in asked if not url.startswith((office_shop.url, "data:", "blob:"))] == []
