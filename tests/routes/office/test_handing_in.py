"""The office page on which a lead hands in the file of a tablet."""

from __future__ import annotations

import json
from typing import Any

import httpx
import pytest

from api.use_cases import designs
from tests.routes.office.visitor import Page, Site, Visitor, count_rows
from tests.support.script import Tablet
from tests.support.shop import enrol

SETUP = "01920000-0000-7000-8000-000000000fff"
TABLES = ("event", "journal", "set_aside", "tablet")


def worked(site: Site, name: str = "tab-7") -> Tablet:
    revision = designs.get_revision(site.uow, "SAD-20", "B")
    steps: list[dict[str, Any]] = (revision.sheet or {})["steps"]
    tablet = Tablet(name, setup=SETUP)
    tablet.open(plate="SAD-20-003", revision_hash=revision.hash)
    tablet.do(steps[0])
    return tablet


def file_of(tablet: Tablet, *more: str) -> bytes:
    events = [*tablet.texts, *more]
    sigs = [*tablet.sigs(), *(None for _ in more)]
    told = {"tablet": tablet.name, "build": "recover", "events": events, "sigs": sigs}
    return json.dumps({**told, "seen": None, "checkpoint": None}).encode()


def rows(site: Site) -> list[int]:
    return [count_rows(site, one) for one in TABLES]


def followed(visitor: Visitor, answer: httpx.Response) -> Page:
    assert answer.status_code == httpx.codes.SEE_OTHER, answer.text
    return visitor.read(answer.headers["location"])


def test_the_page_says_what_was_stored_and_leads_to_the_setups(each_site: Site) -> None:
    tablet = worked(each_site)
    enrol(each_site, tablet)
    broken = '{"kind": "<b>note</b>"}'
    with each_site.visitor("B-03") as lead:
        page = followed(lead, lead.send_file("/hand-in", file_of(tablet, broken)))
        assert "2 records stored." in page.text
        assert "Stored 2 records Here already 0 records Set aside 1 record" in page.text
        assert f"/setups/{SETUP}" in page.links and "plate SAD-20-003" in page.text
        aside = next(one for one in page.links if one.startswith("/to-settle/set-aside/"))
        assert "<b>note" in lead.read(aside).text and "<b>note" not in lead.get(aside).text
        page = followed(lead, lead.send_file("/hand-in", file_of(tablet)))
        assert "Nothing was new." in page.text
        assert "Stored 0 records Here already 2 records Set aside 0 records" in page.text
        listed = [row[2:] for row in lead.read("/hand-in").rows if row][1:]
    assert listed == [["B-03", "0", "2", "0"], ["B-03", "2", "0", "1"]]


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"not JSON", "it is not JSON"),
        (b'{"tablet": "tab-7"}', "&#39;events&#39; is missing"),
        (file_of(Tablet("tab-x", setup=SETUP)), "The file holds no records"),
    ],
)
def test_a_wrong_file_is_named_at_the_field_and_changes_nothing(
    site: Site, lead: Visitor, content: bytes, says: str
) -> None:
    before = rows(site)
    answer = lead.send_file("/hand-in", content)
    assert answer.status_code == httpx.codes.UNPROCESSABLE_ENTITY
    at_the_field = answer.text.partition('id="b-upload">')[2].partition("</span>")[0]
    assert says in at_the_field
    assert 'aria-invalid="true"' in answer.text
    assert rows(site) == before


def test_another_shops_file_a_missing_one_and_one_too_long_change_nothing(
    site: Site, lead: Visitor
) -> None:
    before = rows(site)
    foreign = lead.send_file("/hand-in", file_of(worked(site, "tab-x")))
    assert foreign.status_code == httpx.codes.UNPROCESSABLE_ENTITY
    assert "never enrolled in this shop" in foreign.text.partition('id="b-upload">')[2]
    none = lead.send("/hand-in")
    assert "Choose the file" in none.text.partition('id="b-upload">')[2]
    too_long = lead.send_file("/hand-in", b"x" * 4_000_001)
    assert too_long.status_code == httpx.codes.REQUEST_ENTITY_TOO_LARGE
    assert "at most 4000000 bytes" in too_long.text
    assert rows(site) == before


def test_a_file_without_this_sessions_token_changes_nothing(site: Site, lead: Visitor) -> None:
    tablet = worked(site)
    enrol(site, tablet)
    before = rows(site)
    files = {"upload": ("saved.json", file_of(tablet), "application/json")}
    answer = lead.client.post("/hand-in", data={"csrf": "0" * 64}, files=files)
    assert answer.status_code == httpx.codes.FORBIDDEN
    assert rows(site) == before


@pytest.mark.parametrize("badge", ["B-01", "B-04"])
def test_only_a_lead_or_owner_hands_in(site: Site, badge: str) -> None:
    tablet = worked(site)
    enrol(site, tablet)
    before = rows(site)
    with site.visitor(badge) as visitor:
        for path in ("/crew", "/to-settle"):
            assert "/hand-in" not in visitor.read(path).links
        assert visitor.get("/hand-in").status_code == httpx.codes.FORBIDDEN
        answer = visitor.send_file("/hand-in", file_of(tablet))
        assert answer.status_code == httpx.codes.FORBIDDEN
    assert rows(site) == before


def test_the_way_there_and_numbers_that_are_none(lead: Visitor) -> None:
    for path in ("/crew", "/to-settle"):
        assert "/hand-in" in lead.read(path).links
    assert lead.get("/handed-in/1").status_code == httpx.codes.NOT_FOUND
    for number in ("0", "x", "9" * 30):
        assert httpx.codes.is_client_error(lead.get(f"/handed-in/{number}").status_code)
