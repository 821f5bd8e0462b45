"""The page of a report: everything in one file, and everything that was found on it."""

from __future__ import annotations

import re
from html import unescape
from typing import Any

import pytest

from api.domain.analyses.result import Check
from api.domain.designs.drawing import draw
from api.paths import share
from api.pictures import findings_parts, report_page, report_parts
from api.pictures.page import css_text, with_fonts
from api.pictures.tables import tables
from tests.support.analyses import sad_20

CSS = "body{margin:0}"
HOSTILE = '</style><script>alert("x")</script>'


def page_of(parts: dict[str, Any], **changed: str) -> str:
    given = {"code": "SAD-20", "revision": "B", "title": "Dovetail saddle", **changed}
    stamps = {"Hash": "ab" * 32, "Date": "25 Nov 2026", "Method": "1"}
    return report_page(parts, stamps=stamps, css=CSS, templates=share("web/templates"), **given)


@pytest.fixture(scope="module")
def page() -> str:
    design, analysis = sad_20()
    return page_of(report_parts(analysis.result, design, draw(design)))


def words_of(page: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", page)).split())


def test_the_page_needs_no_network_no_script_and_no_other_file(page: str) -> None:
    assert set(re.findall(r"https?://[^\"' <]+", page)) <= {"http://www.w3.org/2000/svg"}
    assert not re.search(r"<(script|link|img|iframe|object|base)\b|\b(src|href|on\w+)=", page)
    assert page.count("<style>") == 1
    assert " style=" not in page
    assert "url(" not in page


def test_findings_stand_first_the_worst_before_the_others(page: str) -> None:
    words = words_of(page.partition("<main")[2])
    advice, note = words.index("Advice. A reads 38 to 82 µm"), words.index("Note. C3 ends at 93 %")
    assert advice < words.index("Put the receivers at 125/65 mm") < note
    assert note < words.index("Readings to expect")


def test_every_number_of_a_table_is_on_the_page(page: str) -> None:
    design, analysis = sad_20()
    shown = tables(analysis.result, design)
    assert [table.title for table in shown] == [
        "Expected readings",
        "Heights of the points",
        "Clamps",
        "Force after each pass",
        "What the plate does to the part",
        "Estimated hold",
    ]
    for table in shown:
        body = page.partition(f"<caption>{table.title}")[2].partition("</table>")[0]
        cells = re.findall(
            r"<t[dh][^>]*>(?:<span class=\"n\">)?([^<]*)", body.partition("<tbody>")[2]
        )
        assert cells == [cell for row in table.rows for cell in row]


def test_the_page_says_design_revision_hash_date_method_and_cautions(page: str) -> None:
    words = words_of(page)
    for expected in ("SAD-20 revision B", "ab" * 32, "25 Nov 2026", "Method 1"):
        assert expected in words
    assert words.count("have a competent person approve a fixture before it is used") == 2
    assert 'content: "SAD-20 revision B · Hash abababababab' in page
    assert "safe to" not in words


def test_the_page_has_a_map_of_every_state_and_what_the_indicator_sees(page: str) -> None:
    titles = re.findall(r"<title>Bow of SAD-20 revision B: ([^<]+)</title>", page)
    assert titles == [
        "Change from snug free to torqued locked",
        "Empty locked",
        "Snug free",
        "Snug locked",
        "Torqued free",
        "Torqued locked",
    ]


def test_a_result_that_was_not_computed_gives_findings_and_a_plan() -> None:
    design, analysis = sad_20()
    bare = analysis.result.model_copy(
        update={"clamps": {}, "points": {}, "stations": {}, "map": None, "solver": None}
    )
    words = words_of(page_of(report_parts(bare, design, draw(design))))
    assert "Advice. A reads" in words
    assert "Order of tightening" in words
    for left_out in ("Readings to expect", "Force in the clamps", "Expected to move", "hold at"):
        assert left_out not in words


def test_text_from_a_file_cannot_break_out_of_the_page() -> None:
    check = Check(code="x", level="stop", subject="file", message=HOSTILE, fix=HOSTILE)
    page = page_of(findings_parts([check]), code="", revision="", title=HOSTILE)
    assert "<script" not in page
    assert page.count("</style>") == 1
    assert "alert" in words_of(page)


def test_a_css_text_ends_only_where_it_should() -> None:
    assert css_text('a"b\\c</style>\n') == '"a\\22 b\\5c c\\3c \\2f style\\3e \\a "'


def test_fonts_go_into_the_style_sheet() -> None:
    css = '@font-face{src:url(fonts/a.woff2) format("woff2")}@font-face{src:url("fonts/b.woff2")}'
    assert with_fonts(css, lambda name: name[-7:].encode()) == (
        '@font-face{src:url(data:font/woff2;base64,YS53b2ZmMg==) format("woff2")}'
        "@font-face{src:url(data:font/woff2;base64,Yi53b2ZmMg==)}"
    )
