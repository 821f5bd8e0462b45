"""The computation of a design on its page: progress, conclusion, report, failure, release."""

from __future__ import annotations

import httpx
import pytest

from api.domain.errors import Unavailable
from api.domain.people import Role
from api.paths import share
from api.use_cases import analyses, stores
from api.use_cases.demo.founding import who
from tests.routes.office.visitor import Page, Site, Visitor
from tests.support.net import wait_until

GOOD = (share("seed_data") / "designs/SAD-20-B.toml").read_text()
FRESH = GOOD.replace('revision = "B"', 'revision = "C"')
PAGE = "/designs/SAD-20/C"
CAUTION = "Clamps, tools and parts can be thrown"


def load(visitor: Visitor) -> None:
    assert visitor.send("/load-design", step="load", text=FRESH).headers["location"] == PAGE


def wait_for(site: Site, state: str) -> None:
    def reached() -> bool:
        with site.uow as uow:
            found = uow.analyses.of("SAD-20", "C")
        return found is not None and found.state == state

    wait_until(reached, within_s=30, what=f"a computation that is {state}")


def test_a_running_computation_shows_its_progress_and_holds_the_release_up(each_site: Site) -> None:
    each_site.analyser.hold()
    with each_site.visitor("B-04") as engineer:
        load(engineer)
        wait_until(
            lambda: engineer.client.get(f"{PAGE}/progress").json()["share"] == 0.5,
            within_s=30,
            what="half of the computation",
        )
        page = engineer.read(PAGE)
        assert "Computation under way" in page.text
        assert "bending the plate" in page.text
        assert 'value="0.5"' in page.html
        assert f'data-renew="{PAGE}/progress"' in page.html
        assert '<noscript><meta http-equiv="refresh"' in page.html
        assert f"{PAGE}/release" not in page.links
        asked = Page(engineer.get(f"{PAGE}/release").text)
        assert "Not now." in asked.text
        assert "data-renew" in asked.html
        assert "Release revision C" not in asked.text
        refused = engineer.send(f"{PAGE}/release")
        assert refused.status_code == httpx.codes.CONFLICT
        assert (
            "The computation of SAD-20 revision C is still running (50 %). "
            "Release it when it is done." in Page(refused.text).text
        )
        each_site.analyser.let_go()
        done = engineer.read_once(PAGE, f"{PAGE}/release")
        confirm = engineer.read(f"{PAGE}/release")
        assert "What stands out" in confirm.text
        assert "Release revision C" in confirm.text
        assert "data-renew" not in done.html
        assert "refresh" not in done.html
        assert engineer.send(f"{PAGE}/release").status_code == httpx.codes.SEE_OTHER


def test_a_finished_computation_shows_conclusion_then_findings_then_figures(
    engineer: Visitor,
) -> None:
    load(engineer)
    text = engineer.read_once(PAGE, f"{PAGE}/report").text
    order = [text.index(words) for words in ("Estimate", "What stands out", "Readings to expect")]
    assert order == sorted(order)
    assert "Estimates, not measurements." in text
    assert text.count(CAUTION) == 2  # on the page, and in the foot of its print


def test_the_report_stands_alone_for_paper_and_names_its_inputs(engineer: Visitor) -> None:
    load(engineer)
    page = engineer.read_once(PAGE, f"{PAGE}/report")
    report = engineer.read(f"{PAGE}/report")
    body = engineer.client.get(next(link for link in page.links if link.endswith("/analysis")))
    assert body.json()["revision"] == "C"
    with_inputs = report.text.partition("Computed from")[2]
    assert len(with_inputs.split()[0]) == 64
    assert "Plan of steps" not in report.text
    assert CAUTION in report.text


def test_what_was_computed_for_the_demonstration_is_shown_with_its_release(
    operator: Visitor,
) -> None:
    sheet = operator.client.get("/api/designs/SAD-20/revisions/B").json()["sheet"]
    page = operator.read("/designs/SAD-20/B")
    assert sheet["analysis"]["inputs"] in page.html
    result = operator.client.get("/api/designs/SAD-20/B/analysis").json()
    assert sheet["order"] == result["order"]
    judged = [step for step in sheet["steps"] if step["expected"]]
    assert [step["id"] for step in judged] == ["read/A/torqued locked"]
    row = next(row for row in page.rows if judged[0]["id"] in row)
    assert "estimated" in row[3]


def test_a_failure_is_one_sentence_with_a_way_to_try_again(site: Site, engineer: Visitor) -> None:
    site.analyser.failure = "the program met a fault (ZeroDivisionError)."
    load(engineer)
    wait_for(site, "failed")
    page = engineer.read(PAGE)
    assert (
        "The computation of SAD-20 revision C failed: the program met a fault (ZeroDivisionError)."
        in page.text
    )
    assert "Traceback" not in page.html
    assert f"{PAGE}/release" not in page.links
    assert "Have it computed again" in Page(engineer.send(f"{PAGE}/release").text).text
    site.analyser.failure = ""
    assert engineer.send(f"{PAGE}/compute", PAGE).headers["location"] == PAGE
    engineer.read_once(PAGE, f"{PAGE}/release")


def test_an_estimate_made_before_the_stores_changed_is_not_shown(
    site: Site, engineer: Visitor
) -> None:
    load(engineer)
    engineer.read_once(PAGE, f"{PAGE}/release")
    with site.uow as uow:
        lead = who(uow, Role.LEAD)
    grease = stores.get_item(site.uow, "grease", "ep-grease").version.body
    friction = grease["friction"] | {"high": grease["friction"]["high"] + 0.02}
    stores.save_item(site.uow, site.means, "grease", grease | {"friction": friction}, lead)
    page = engineer.read(PAGE)
    assert "The estimate is out of date" in page.text
    assert "What stands out" not in page.text
    assert engineer.get(f"{PAGE}/report").status_code == httpx.codes.CONFLICT
    refused = engineer.send(f"{PAGE}/release")
    assert "It is computed now;" in Page(refused.text).text
    engineer.read_once(PAGE, f"{PAGE}/release")
    assert engineer.send(f"{PAGE}/release").status_code == httpx.codes.SEE_OTHER


def test_a_sheet_released_before_there_were_computations_stays_readable(
    site: Site, engineer: Visitor
) -> None:
    with site.uow as uow:
        found = uow.designs.get("CLR-08", "A")
        assert found is not None and found.sheet is not None
        for key in ("guide", "analysis"):
            del found.sheet[key]
        for step in found.sheet["steps"]:
            del step["expected"]
        uow.designs.save(found)
        uow.analyses.drop("CLR-08", "A")
        uow.commit()
    page = engineer.read("/designs/CLR-08/A")
    assert "it was never computed" in page.text
    assert engineer.read("/plates/CLR-08-001/sheet").rows
    engineer.send("/designs/CLR-08/A/compute")
    engineer.read_once("/designs/CLR-08/A", "/designs/CLR-08/A/report")


@pytest.mark.parametrize("badge", ["B-01", "B-03"])
def test_only_those_who_may_load_designs_are_offered_to_compute_them(
    site: Site, badge: str
) -> None:
    with site.uow as uow:
        uow.analyses.drop("SAD-20", "B")
        uow.commit()
    with site.visitor(badge) as visitor:
        assert "Have it computed" not in visitor.read("/designs/SAD-20/B").text
        answer = visitor.send("/designs/SAD-20/B/compute")
        assert answer.status_code == httpx.codes.FORBIDDEN


def test_the_worker_outlives_a_database_that_does_not_answer(
    site: Site, engineer: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = 0
    real = analyses.take_next

    def failing_once(*arguments: object) -> object:
        nonlocal asked
        asked += 1
        if asked == 1:
            raise Unavailable("The records cannot be reached.")
        return real(*arguments)  # type: ignore[arg-type]

    monkeypatch.setattr(analyses, "take_next", failing_once)
    load(engineer)
    engineer.read_once(PAGE, f"{PAGE}/release")
    assert asked > 1
