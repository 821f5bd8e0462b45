"""Computations of designs: asked for once, computed once, needed for a release, never lost."""

from __future__ import annotations

from typing import Any

import pytest

from api.domain.analyses.result import Check
from api.domain.designs import Design
from api.domain.errors import Clash, NotAllowed, NotFound
from api.domain.records import Computation
from api.paths import share
from api.use_cases import analyses, designs, stores
from tests.support.shop import ENGINEER, LEAD, Shop, stock

FOLDER = share("seed_data")
FILE = (FOLDER / "designs/SAD-20-B.toml").read_text().replace('revision = "B"', 'revision = "C"')
# For rules that no database has a part in; the queue itself is tested on both engines.
on_one_engine = pytest.mark.parametrize("new_database_url", ["sqlite"], indirect=True)


@pytest.fixture
def loaded(shop: Shop) -> Shop:
    """The shop with the demonstration's stores and a fresh draft, SAD-20 revision C."""
    stock(shop)
    load(shop)
    return shop


def load(shop: Shop, text: str = FILE) -> None:
    designs.load_design(shop.uow, shop.means, text, ENGINEER)


def stored(shop: Shop) -> Computation:
    with shop.reader as uow:
        found = uow.analyses.of("SAD-20", "C")
    assert found is not None
    return found


def run_next(shop: Shop) -> Computation:
    job = analyses.take_next(shop.uow, shop.means)
    assert job is not None
    return analyses.carry_out(shop.uow, shop.means, job)


def release(shop: Shop) -> Any:
    return designs.release_revision(shop.uow, shop.means, "SAD-20", "C", ENGINEER)


def change_grease(shop: Shop, high: float = 0.17) -> None:
    grease = stores.get_item(shop.reader, "grease", "ep-grease").version.body
    friction = grease["friction"] | {"high": high}
    stores.save_item(shop.uow, shop.means, "grease", grease | {"friction": friction}, LEAD)


def test_loading_a_design_queues_its_computation(loaded: Shop) -> None:
    found = stored(loaded)
    assert (found.state, found.progress, found.result) == ("queued", 0.0, None)
    assert found.method == loaded.analyser.method
    assert analyses.waits(loaded.reader, loaded.means)


@on_one_engine
def test_a_finished_computation_is_kept_whole_and_read_by_its_revision(loaded: Shop) -> None:
    assert run_next(loaded) == stored(loaded)
    assert stored(loaded).state == "done"
    assert not analyses.waits(loaded.reader, loaded.means)
    assert analyses.take_next(loaded.uow, loaded.means) is None
    revision = designs.get_revision(loaded.reader, "SAD-20", "C")
    analysis = analyses.standing_of(loaded.reader, loaded.means, revision).analysis
    assert analysis is not None
    assert analysis.inputs == stored(loaded).inputs
    assert analysis.guide is not None
    result = analyses.get_result(loaded.reader, loaded.means, "SAD-20", "C")
    assert result.points == analysis.result.points


def test_two_loads_of_the_same_content_compute_once(loaded: Shop) -> None:
    load(loaded)
    run_next(loaded)
    load(loaded)
    assert stored(loaded).state == "done"
    assert analyses.take_next(loaded.uow, loaded.means) is None
    assert loaded.analyser.computed == [stored(loaded).inputs]


def test_a_replaced_draft_leaves_no_older_computation_behind(loaded: Shop) -> None:
    before = analyses.take_next(loaded.uow, loaded.means)
    assert before is not None
    load(loaded, FILE.replace('torque = "12 N*m"', 'torque = "11 N*m"'))
    analyses.carry_out(loaded.uow, loaded.means, before)
    assert stored(loaded).state == "queued"
    with loaded.reader as uow:
        assert uow.analyses.get(before.computation.inputs) is None


def test_nobody_begins_what_another_has_begun(loaded: Shop) -> None:
    assert analyses.take_next(loaded.uow, loaded.means) is not None
    assert analyses.take_next(loaded.uow, loaded.means) is None
    assert stored(loaded).state == "running"


def test_what_a_dead_process_left_is_queued_again_at_start(loaded: Shop) -> None:
    analyses.take_next(loaded.uow, loaded.means)
    assert analyses.requeue_left(loaded.uow, loaded.means) == 1
    assert stored(loaded).state == "queued"
    assert run_next(loaded).state == "done"
    assert analyses.requeue_left(loaded.uow, loaded.means) == 0


def test_one_that_gives_no_sign_of_life_is_begun_anew(loaded: Shop) -> None:
    analyses.take_next(loaded.uow, loaded.means)
    loaded.clock.forward(analyses.SILENT_AFTER.total_seconds() - 1)
    assert not analyses.waits(loaded.reader, loaded.means)
    with loaded.uow as uow:
        uow.analyses.advance(stored(loaded).inputs, 0.4, "bending", loaded.clock.now())
        uow.commit()
    loaded.clock.forward(2)
    assert analyses.take_next(loaded.uow, loaded.means) is None
    loaded.clock.forward(analyses.SILENT_AFTER.total_seconds())
    assert run_next(loaded).state == "done"


@on_one_engine
def test_progress_is_told_and_written_down_but_not_after_the_end(loaded: Shop) -> None:
    job = analyses.take_next(loaded.uow, loaded.means)
    assert job is not None
    seen: list[tuple[str, float, str, float]] = []

    def look(words: str, share: float) -> None:
        seen.append((words, share, stored(loaded).state, stored(loaded).progress))

    analyses.carry_out(loaded.uow, loaded.means, job, look)
    assert seen == [("bending the plate", 0.5, "running", 0.0)]
    with loaded.uow as uow:
        uow.analyses.advance(stored(loaded).inputs, 0.2, "late", loaded.clock.now())
        uow.commit()
    assert (stored(loaded).progress, stored(loaded).doing) == (1.0, "")


@on_one_engine
def test_a_failure_keeps_its_sentence_and_is_tried_again_when_asked_for(loaded: Shop) -> None:
    loaded.analyser.failure = "the program met a fault (ValueError)."
    assert run_next(loaded).state == "failed"
    with pytest.raises(Clash, match=r"failed: the program met a fault .* computed again"):
        release(loaded)
    assert analyses.take_next(loaded.uow, loaded.means) is None
    loaded.analyser.failure = ""
    asked = analyses.request_analysis(loaded.uow, loaded.means, "SAD-20", "C", ENGINEER)
    assert asked.state == "queued"
    assert run_next(loaded).state == "done"


@on_one_engine
def test_a_release_waits_for_the_computation_and_says_how_far_it_is(loaded: Shop) -> None:
    with pytest.raises(Clash, match=r"waits for its turn\. Release it when it is done\."):
        release(loaded)
    job = analyses.take_next(loaded.uow, loaded.means)
    assert job is not None
    with loaded.uow as uow:
        uow.analyses.advance(job.computation.inputs, 0.62, "bending", loaded.clock.now())
        uow.commit()
    with pytest.raises(Clash) as refused:
        release(loaded)
    assert refused.value.message == (
        "The computation of SAD-20 revision C is still running (62 %). Release it when it is done."
    )
    analyses.carry_out(loaded.uow, loaded.means, job)
    sheet = release(loaded).sheet
    assert sheet["analysis"] == {"inputs": stored(loaded).inputs, "method": "quick/1"}
    assert sheet["guide"]["points"] == ["A"]


@on_one_engine
def test_a_changed_grease_asks_for_a_new_computation_before_release(loaded: Shop) -> None:
    before = run_next(loaded).inputs
    change_grease(loaded)
    revision = designs.get_revision(loaded.reader, "SAD-20", "C")
    assert analyses.standing_of(loaded.reader, loaded.means, revision).outdated
    with pytest.raises(Clash, match=r"have changed since .* It is computed now"):
        release(loaded)
    assert stored(loaded).inputs != before
    run_next(loaded)
    assert release(loaded).sheet["analysis"]["inputs"] == stored(loaded).inputs


@on_one_engine
def test_what_changes_while_a_computation_is_queued_goes_into_it(loaded: Shop) -> None:
    before = stored(loaded).inputs
    change_grease(loaded)
    assert run_next(loaded).inputs != before
    assert release(loaded).state == "released"


@on_one_engine
def test_a_released_revision_keeps_the_estimate_it_was_released_with(loaded: Shop) -> None:
    run_next(loaded)
    inputs = release(loaded).sheet["analysis"]["inputs"]
    change_grease(loaded)
    revision = designs.get_revision(loaded.reader, "SAD-20", "C")
    standing = analyses.standing_of(loaded.reader, loaded.means, revision)
    assert standing.analysis is not None
    assert (standing.outdated, standing.analysis.inputs) == (False, inputs)


@on_one_engine
def test_a_stop_that_was_computed_refuses_the_release_with_its_fix(
    loaded: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    analyse = loaded.analyser.analyse

    def stopping(*arguments: Any) -> Any:
        found = analyse(*arguments)
        stop = Check(
            code="lifts",
            level="stop",
            subject="P3",
            message="the part at P3 can lift",
            fix="cut slower",
        )
        result = found.result.model_copy(update={"checks": [stop, *found.result.checks]})
        return found.model_copy(update={"result": result})

    monkeypatch.setattr(loaded.analyser, "analyse", stopping)
    run_next(loaded)
    with pytest.raises(Clash, match=r"The part at P3 can lift\. Cut slower\."):
        release(loaded)
    assert designs.get_revision(loaded.reader, "SAD-20", "C").state == "draft"


@on_one_engine
def test_what_the_checker_says_now_stands_among_the_computed_checks(loaded: Shop) -> None:
    run_next(loaded)
    tool = stores.get_item(loaded.reader, "tool", "T-07").version.body
    shelf = [one.version.body for one in stores.list_items(loaded.reader, "tool")]
    for body in shelf:
        if body["serial"] != tool["serial"]:
            withdrawn = body | {"state": "withdrawn"}
            stores.save_item(loaded.uow, loaded.means, "tool", withdrawn, LEAD)
    result = analyses.get_result(loaded.reader, loaded.means, "SAD-20", "C")
    findings = designs.check_text(loaded.reader, FILE).findings
    assert {one.code for one in findings} <= {one.code for one in result.checks}
    levels = [one.level for one in result.checks]
    assert levels == sorted(levels, key=["stop", "advice", "note"].index)


@on_one_engine
def test_a_result_that_is_not_there_is_refused_with_the_reason(loaded: Shop) -> None:
    with pytest.raises(Clash, match="waits for its turn"):
        analyses.get_result(loaded.reader, loaded.means, "SAD-20", "C")
    with pytest.raises(NotFound, match="never computed"):
        analyses.get_result(loaded.reader, loaded.means, "SAD-20", "B")
    with pytest.raises(NotFound, match="no revision"):
        analyses.get_result(loaded.reader, loaded.means, "SAD-20", "Z")


@on_one_engine
def test_a_stored_design_that_this_version_cannot_read_fails_with_a_sentence(shop: Shop) -> None:
    with pytest.raises(Clash, match="load the file again"):
        analyses.request_analysis(shop.uow, shop.means, "SAD-20", "B", ENGINEER)
    now = shop.clock.now()
    with shop.uow as uow:
        uow.analyses.save(Computation("0" * 64, "old/1", "SAD-20", "B", asked_at=now, at=now))
        uow.commit()
    assert analyses.take_next(shop.uow, shop.means) is None
    with shop.reader as uow:
        found = uow.analyses.of("SAD-20", "B")
    assert found is not None
    assert (found.state, found.failure) == ("failed", analyses.UNREADABLE)


@on_one_engine
def test_only_those_who_may_load_designs_have_one_computed(loaded: Shop) -> None:
    with pytest.raises(NotAllowed, match="engineer, owner"):
        analyses.request_analysis(loaded.uow, loaded.means, "SAD-20", "C", LEAD)


def test_the_queue_is_worked_in_the_order_of_asking(loaded: Shop) -> None:
    loaded.clock.forward(1)
    load(loaded, FILE.replace('revision = "C"', 'revision = "D"'))
    asked = []
    while (job := analyses.take_next(loaded.uow, loaded.means)) is not None:
        asked.append(job.design.revision)
        assert isinstance(job.design, Design)
    assert asked == ["C", "D"]
