from __future__ import annotations

import httpx
import pytest

from api.paths import share
from tests.routes.office.visitor import Page, Site, Visitor, count_rows

GOOD = (share("seed_data") / "designs/SAD-20-B.toml").read_text()
FRESH = GOOD.replace('revision = "B"', 'revision = "C"')
CAUTION = "Clamps, tools and parts can be thrown"


def line_of(text: str, words: str) -> int:
    return next(n for n, line in enumerate(text.splitlines(), start=1) if words in line)


def test_checking_a_file_shows_each_finding_with_its_line_and_fix_and_keeps_nothing(
    site: Site, engineer: Visitor
) -> None:
    before = count_rows(site, "design_revision")
    broken = FRESH.replace('torque = "12 N*m"', 'torque = "12 kN"', 1)
    answer = engineer.send_file("/load-design", broken.encode(), step="check")
    page = Page(answer.text)
    assert answer.status_code == httpx.codes.UNPROCESSABLE_ENTITY
    assert "1 thing must change before this can be loaded" in page.text
    assert f"line {line_of(broken, '12 kN')}" in page.text
    assert "Load as a draft" not in page.text
    assert count_rows(site, "design_revision") == before


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "The file is empty"),
        (b"\xff\xfe\x00", "is not UTF-8 text"),
        (b"code = ", "line 1"),
        (b'format = "clampbook-design/1"', "the file has no [part]"),
        (b"a = 1\n" * 200_000, "at most"),
    ],
)
def test_a_file_that_is_no_design_is_refused_with_the_reason(
    site: Site, engineer: Visitor, content: bytes, words: str
) -> None:
    before = count_rows(site, "design_revision")
    answer = engineer.send_file("/load-design", content or b" ", step="load")
    assert answer.status_code == httpx.codes.UNPROCESSABLE_ENTITY
    assert words in Page(answer.text).text
    assert count_rows(site, "design_revision") == before


def test_a_body_over_the_limit_is_refused_cheaply(engineer: Visitor) -> None:
    answer = engineer.send_file("/load-design", b"x" * 5_000_000, step="check")
    assert answer.status_code == httpx.codes.REQUEST_ENTITY_TOO_LARGE
    assert "too large" in answer.text


def test_a_draft_is_loaded_released_after_confirmation_and_then_never_changes(
    each_site: Site,
) -> None:
    with each_site.visitor("B-04") as engineer:
        loaded = engineer.send("/load-design", step="load", text=FRESH)
        assert loaded.headers["location"] == "/designs/SAD-20/C"
        engineer.read_once("/designs/SAD-20/C", "/designs/SAD-20/C/release")
        assert "It never changes again" in engineer.read("/designs/SAD-20/C/release").text
        engineer.send("/designs/SAD-20/C/release")
        released = engineer.read("/designs/SAD-20/C")
        assert "released" in released.text
        changed = FRESH.replace('title = "', 'title = "New ')
        refused = engineer.send("/load-design", step="load", text=changed)
        assert refused.status_code == httpx.codes.CONFLICT
        assert "never changes" in refused.text
        again = engineer.send("/designs/SAD-20/C/release")
        assert again.status_code == httpx.codes.CONFLICT
        assert engineer.get("/designs/SAD-20/C/file").text == FRESH


def test_a_withdrawn_revision_stays_readable_and_cannot_be_released(engineer: Visitor) -> None:
    engineer.send("/designs/SAD-20/A/withdraw")
    page = engineer.read("/designs/SAD-20/A")
    assert "withdrawn" in page.text
    assert not [link for link in page.links if link.endswith(("/release", "/withdraw"))]
    assert engineer.send("/designs/SAD-20/A/release").status_code == httpx.codes.CONFLICT


@pytest.mark.parametrize("badge", ["B-01", "B-03"])
def test_only_an_engineer_or_owner_changes_designs(site: Site, badge: str) -> None:
    with site.visitor(badge) as visitor:
        assert visitor.get("/load-design").status_code == httpx.codes.FORBIDDEN
        for path in ("/load-design", "/designs/SAD-20/B/withdraw", "/designs/SAD-20/B/release"):
            answer = visitor.send(path, step="load", text=FRESH)
            assert answer.status_code == httpx.codes.FORBIDDEN
            assert "Roles that may: engineer, owner." in answer.text
        assert "released" in visitor.read("/designs/SAD-20/B").text


def test_the_revision_page_holds_drawing_data_plan_and_cautions(operator: Visitor) -> None:
    page = operator.read("/designs/CLR-08/A")
    sheet = operator.client.get("/api/designs/CLR-08/revisions/A").json()["sheet"]
    ids = [row[1] for row in page.rows if len(row) == 5 and row[0].isdigit()]
    assert ids == [step["id"] for step in sheet["steps"]]
    assert "Scale when printed 1 : " in page.text
    assert CAUTION in page.text
    for clamp in sheet["clamps"]:
        assert any(row[0] == clamp["id"] and clamp["spec"] in row for row in page.rows)


def test_the_downloaded_file_is_the_one_that_was_loaded(operator: Visitor) -> None:
    answer = operator.get("/designs/SAD-20/B/file")
    assert answer.text == GOOD
    assert 'filename="SAD-20-B.toml"' in answer.headers["content-disposition"]
