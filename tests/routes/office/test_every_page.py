"""What holds for each page of the office, found by following its own links."""

from __future__ import annotations

import re

import httpx
import pytest

from tests.routes.office.visitor import Page, Site, Visitor

STARTS = [
    "/plates",
    "/load-design",
    "/designs/SAD-20/B/withdraw",
    "/add-plate",
    "/plates/SAD-20-001",
    "/plates/SAD-20-001/sheet?tool=T-05",
    "/plates/CLR-08-001/label",
    "/logbook",
    "/readings?design=SAD-20&point=A&state=torqued+locked",
    "/stores/tool/T-03/change",
    "/stores/add/spec",
    "/crew",
    "/crew/B-01",
    "/add-person",
    "/system",
]
NOT_PAGES = re.compile(r"^/bench|^/api/|^#|^data:|\.(csv|json)(\?|$)|/file$|^/static/")
MOST_PAGES = 60


def walked(visitor: Visitor) -> dict[str, Page]:
    """Pages reached from the starts, and the pages these link to."""
    found: dict[str, Page] = {}
    waiting = list(STARTS)
    while waiting and len(found) < MOST_PAGES:
        path = waiting.pop(0).partition("#")[0]
        if path in found:
            continue
        answer = visitor.client.get(path, follow_redirects=True)
        assert answer.status_code == httpx.codes.OK, f"{path}: {answer.status_code}"
        found[path] = Page(answer.text)
        waiting += [link for link in found[path].links if not NOT_PAGES.search(link)]
    return found


def test_no_page_needs_what_the_policy_forbids_or_an_outside_address(site: Site) -> None:
    with site.visitor("B-05") as visitor:
        pages = walked(visitor)
        policy = visitor.get("/plates").headers["content-security-policy"]
    assert len(pages) > len(STARTS)
    assert "unsafe" not in policy
    for path, page in pages.items():
        assert page.inline == [], path
        outside = [one for one in page.addresses if not one.startswith(("/", "#", "data:,"))]
        assert outside == [], path
        assert "//" not in "".join(one for one in page.addresses if one.startswith("//")), path


def test_every_page_has_its_landmarks_one_heading_and_labelled_fields(site: Site) -> None:
    with site.visitor("B-05") as visitor:
        pages = walked(visitor)
    for path, page in pages.items():
        html = page.html
        assert html.count("<h1") == 1, path
        assert 'href="#content"' in html, path
        assert 'id="content"' in html, path
        assert html.count("<table") == html.count("<caption"), path
        named = set(re.findall(r'<label for="([^"]+)"', html))
        asked = set(re.findall(r'<(?:input|select|textarea) id="([^"]+)"', html))
        assert asked <= named, path


@pytest.mark.parametrize("badge", ["B-01", "B-03", "B-04"])
def test_a_page_shows_no_way_to_what_the_role_does_not_cover(site: Site, badge: str) -> None:
    with site.visitor(badge) as visitor:
        for path in ("/plates", "/plates/SAD-20-001", "/designs/SAD-20/B", "/stores/tool", "/crew"):
            for link in visitor.read(path).links:
                if not NOT_PAGES.search(link):
                    answer = visitor.client.get(link, follow_redirects=True)
                    assert answer.status_code == httpx.codes.OK, f"{badge} {path} -> {link}"


@pytest.mark.parametrize(
    ("path", "status", "words"),
    [
        ("/plates/NONE", 404, "There is no plate"),
        ("/plates/%00", 404, "There is no plate"),
        ("/designs/SAD-20/ZZ", 404, "There is no revision"),
        ("/setups/nothing", 404, "There is no setup"),
        ("/setups/01920000-0000-7000-8000-00000000ffff", 404, "There is no setup"),
        ("/setups/nothing.csv", 404, "There is no setup"),
        ("/stores/shelf", 404, "The stores have no shelf"),
        ("/stores/tool/T-99", 404, "The stores hold no tool"),
        ("/crew/B-99", 404, "There is no badge"),
        ("/nowhere", 404, "There is nothing at /nowhere"),
        ("/logbook?page=0", 422, "is not a page number"),
        ("/logbook?page=two", 422, "is not a page number"),
        ("/logbook?page=-1", 422, "is not a page number"),
        ("/logbook?page=9999999999999999999999", 422, "is not a page number"),
        ("/logbook?page=99", 422, "There is no page 99"),
        ("/to-settle?page=2", 422, "There is no page 2"),
        ("/settled?page=2", 422, "There is no page 2"),
        ("/logbook?since=tomorrow", 400, "is not a date"),
        ("/logbook?since=2026-13-01", 400, "is not a date"),
        ("/logbook?since=0001-01-01", 400, "cannot be meant"),
        ("/logbook?since=2026-11-02&until=2026-11-01", 400, "The last day lies before the first"),
        ("/logbook?judgement=perhaps", 400, "is not one of: accept, rework, reject"),
        ("/logbook?state=broken", 400, "is not one of: working"),
        ("/logbook.csv?since=tomorrow", 422, "is not a date"),
        ("/logbook.json?page=x", 422, "is not a page number"),
        (
            "/readings?plate=SAD-20-001&point=A&state=upside+down",
            400,
            "is not one of: empty locked",
        ),
        ("/readings?plate=NONE&point=A&state=snug+free", 400, "is not one of"),
        ("/readings.csv", 422, "Name a point, a state"),
        ("/stores/tool/T-03?since=x", 400, "is not a date"),
        ("/plates/SAD-20-001/sheet?tool=T-99", 400, "is not one of"),
    ],
)
def test_what_does_not_exist_or_cannot_be_read_is_said_plainly(
    lead: Visitor, path: str, status: int, words: str
) -> None:
    answer = lead.get(path)
    assert answer.status_code == status
    assert words in Page(answer.text).text
    assert "<h1" in answer.text


def test_a_page_of_an_error_keeps_the_menu_and_a_way_back(lead: Visitor) -> None:
    answer = lead.client.get("/plates/NONE", headers={"Referer": f"{lead.client.base_url}/plates"})
    page = Page(answer.text)
    assert {"/plates", "/logbook", "/stores", "/crew", "/system"} <= set(page.links)
    assert "Go back" in page.text


def test_an_error_page_never_links_to_where_a_stranger_came_from(lead: Visitor) -> None:
    headers = {"Referer": "https://elsewhere.test/plates"}
    assert "elsewhere" not in lead.client.get("/plates/NONE", headers=headers).text
