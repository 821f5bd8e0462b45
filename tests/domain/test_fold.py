"""What a setup's state is after each story, said in plain numbers and words."""

from __future__ import annotations

import itertools
import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.domain.events import Event, parse
from api.domain.setups import Setup, current, fold, ordered, to_json, unjudged
from tests.support import scenarios
from tests.support.scenarios import COUNTERSIGNED, SETUP, STEPS, STORIES

VECTORS = json.loads((Path(__file__).parents[1] / "vectors/fold.json").read_text())


def told(name: str) -> Setup:
    events, verdicts = STORIES[name]()
    return fold(SETUP, STEPS, events, verdicts, countersign=name in COUNTERSIGNED)


def test_a_whole_setup_ends_finished_with_every_step_done() -> None:
    setup = told("whole")
    assert setup.phase == "finished"
    assert current(setup) is None
    undone = [key for key, status in setup.steps.items() if status.undone]
    assert undone == ["judge"]


def test_the_current_step_is_the_first_one_not_done() -> None:
    assert current(told("half_a_pass")) == "torque/2/C1"


def test_leaving_in_the_middle_of_a_pass_starts_that_pass_again() -> None:
    setup = told("left_in_a_pass")
    assert setup.paused
    assert current(setup) == "torque/2/C2"
    assert setup.steps["torque/1/C1"].state == "done"
    assert setup.restarts[0].cleared == ["torque/2/C2"]


def pulls_of(name: str) -> list[tuple[str, float]]:
    return [(one.clamp, one.share) for one in told(name).pulls]


def test_pulls_are_kept_in_the_order_done_and_stay_when_their_pass_starts_again() -> None:
    first = [("C2", 0.5), ("C1", 0.5)]
    assert pulls_of("left_in_a_pass") == [*first, ("C2", 1.0)]
    assert pulls_of("a_pass_done_again") == [*first, ("C2", 1.0), ("C2", 1.0), ("C1", 1.0)]


def test_a_mover_was_pulled_in_full_and_a_clamp_that_stayed_was_not() -> None:
    assert pulls_of("a_mover")[-2:] == [("C1", 1.0), ("C2", 1.0)]


def test_a_clamp_touched_once_locked_is_no_pull_of_the_tightening() -> None:
    assert pulls_of("touched_and_moved") == pulls_of("whole")


def test_a_pull_tapped_by_mistake_is_taken_back_and_earlier_ones_stay() -> None:
    assert pulls_of("a_pull_tapped_by_mistake") == pulls_of("a_pass_done_again")[:-1]


def test_of_two_answers_one_pull_is_counted() -> None:
    assert pulls_of("two_answers") == pulls_of("whole")


def test_leaving_between_two_passes_clears_nothing() -> None:
    setup = told("left_between_passes")
    assert setup.restarts == []
    assert current(setup) == "torque/2/C2"


def test_a_clamp_left_open_is_passed_by_but_keeps_the_lock_back() -> None:
    setup = told("a_clamp_left_open")
    assert setup.steps["torque/2/C2"].state == "trouble"
    assert current(setup) == "torque/2/C2"
    assert setup.steps["lock"].state == "open"


def test_a_lock_with_a_clamp_open_is_kept_and_must_be_judged() -> None:
    setup = told("locked_with_a_clamp_open")
    assert [flag for _, flag in setup.flags] == ["locked with open clamps"]
    assert unjudged(setup)[0].startswith("flag:")


def test_a_clamp_tightened_in_a_later_pass_needs_no_earlier_one() -> None:
    setup = told("a_later_pass_closes_an_earlier")
    assert setup.steps["torque/1/C2"].state == "done"
    assert not any(trouble.open for trouble in setup.troubles)


def test_a_mover_asks_for_another_round_over_all_clamps() -> None:
    setup = told("a_mover")
    assert setup.round == 2
    assert setup.movers == {1: ["C2"]}
    assert current(setup) == "recheck/C2"


def test_a_quiet_round_goes_on_to_the_readings() -> None:
    assert current(told("a_mover_then_quiet")) == "read/A/torqued free"


def test_a_first_entry_out_of_limits_waits_for_a_second() -> None:
    setup = told("out_once")
    step = "read/A/torqued locked"
    assert setup.steps[step].state == "second entry"
    assert current(setup) == step
    assert setup.readings[step].final is None
    assert unjudged(setup) == []


def test_two_entries_out_of_limits_ask_for_a_judgement_and_keep_both() -> None:
    setup = told("out_twice")
    reading = setup.readings["read/A/torqued locked"]
    assert [entry.value for entry in reading.entries] == ["0.08", "0.07"]
    assert reading.final is not None and reading.final.value == "0.07"
    assert current(setup) == "judge"


def test_a_second_entry_within_limits_counts_and_leaves_the_first_readable() -> None:
    setup = told("out_then_in")
    reading = setup.readings["read/A/torqued locked"]
    assert [entry.out for entry in reading.entries] == [True, False]
    assert current(setup) == "sign"


def test_an_accepted_reading_goes_on_to_the_signature() -> None:
    setup = told("out_and_accepted")
    assert current(setup) == "sign"
    assert setup.judgement is not None and setup.judgement.person == "B-03"


def test_rework_starts_again_at_the_first_pass() -> None:
    setup = told("out_and_reworked")
    assert current(setup) == "torque/1/C2"
    assert setup.attempt == 2
    assert setup.readings == {}
    assert setup.steps["snug/C1"].state == "done"


def test_a_rejected_setup_is_over_and_later_steps_change_nothing() -> None:
    setup = told("out_and_rejected")
    assert setup.phase == "rejected"
    assert current(setup) is None
    assert setup.steps["machine"].undone


def test_a_correction_counts_from_now_on_and_keeps_the_first_value() -> None:
    setup = told("corrected")
    reading = setup.readings["read/A/torqued locked"]
    assert [entry.value for entry in reading.entries] == ["0.03", "0.06"]
    assert reading.final is not None and reading.final.corrects == reading.entries[0].event
    assert current(setup) == "judge"


def test_undoing_a_step_opens_it_again() -> None:
    assert current(told("undone_step")) == "lock"


@pytest.mark.parametrize(
    ("story", "phase"),
    [
        ("a_second_signature_awaited", "working"),
        ("countersigned_by_another", "signed"),
        ("countersigned_by_the_same", "working"),
        ("countersignature_refused", "working"),
    ],
)
def test_where_the_sheet_asks_for_it_only_a_second_person_makes_a_plate_ready(
    story: str, phase: str
) -> None:
    assert told(story).phase == phase
    assert told(story).second_wanted is (phase == "working")


def test_without_being_asked_for_a_second_signature_is_not_awaited() -> None:
    events, verdicts = STORIES["a_second_signature_awaited"]()
    assert fold(SETUP, STEPS, events, verdicts).phase == "signed"


def test_a_correction_after_the_signature_asks_for_a_new_one() -> None:
    setup = told("signed_then_corrected")
    assert setup.phase == "signed"
    assert len(setup.after_signature) == 1
    assert current(setup) == "sign"


def test_a_new_signature_over_the_addition_settles_it() -> None:
    setup = told("signed_corrected_signed")
    assert to_json(setup)["unsigned_additions"] == []
    assert len(setup.after_signature) == 1
    assert current(setup) == "machine"


def test_a_refused_signature_signs_nothing_and_stays_on_record() -> None:
    setup = told("refused_signature")
    assert setup.phase == "working"
    assert current(setup) == "sign"
    assert [one.verdict for one in setup.signatures] == ["refused"]


def test_two_tablets_on_one_step_leave_two_answers() -> None:
    setup = told("two_answers")
    status = setup.steps["torque/2/C1"]
    assert status.state == "two answers" and len(status.answers) == 2
    assert current(setup) == "torque/2/C1"


def test_a_named_person_settles_two_answers() -> None:
    setup = told("two_answers_settled")
    assert setup.steps["torque/2/C1"].state == "done"
    assert current(setup) == "recheck/C2"


def test_settling_two_readings_lets_the_kept_one_count() -> None:
    setup = told("two_readings")
    reading = setup.readings["read/A/torqued locked"]
    assert reading.final is not None and reading.final.value == "0.03"
    assert len(reading.entries) == 2


def test_taking_over_restarts_the_running_pass_and_names_the_new_owner() -> None:
    setup = told("taken_over")
    assert (setup.owner_tablet, setup.owner_person) == ("tab-2", "B-02")
    assert current(setup) == "torque/2/C2"


def test_a_clamp_that_moved_on_second_touch_must_be_judged() -> None:
    events, verdicts = scenarios.touched_and_moved()
    setup = fold(SETUP, STEPS, events, verdicts)
    assert unjudged(setup) == ["touch:touch/C1"]


def test_a_clamp_out_of_order_is_recorded_as_such() -> None:
    assert [flag for _, flag in told("out_of_order").flags] == ["out of order"]


def test_a_batch_that_arrived_out_of_order_folds_the_same() -> None:
    events, _ = scenarios.batch_out_of_order()
    in_order = sorted(events, key=lambda event: event.n)
    assert to_json(fold(SETUP, STEPS, events)) == to_json(fold(SETUP, STEPS, in_order))


def test_records_that_fit_nowhere_are_listed_and_change_nothing() -> None:
    setup = told("misfits")
    assert len(setup.odd) == 6
    assert current(setup) == "load/P1"


def test_an_abandoned_setup_takes_no_more_steps() -> None:
    setup = told("abandoned")
    assert setup.phase == "abandoned"
    assert setup.steps["load/P1"].undone


def test_a_note_closes_the_trouble_it_names() -> None:
    assert not any(trouble.open for trouble in told("note_closes_trouble").troubles)


def test_an_open_trouble_keeps_the_signature_back_until_judged() -> None:
    assert current(told("open_trouble_at_the_end")) == "judge"


@pytest.mark.parametrize("story", VECTORS["stories"], ids=lambda story: story["name"])
def test_the_fold_agrees_with_the_shared_vectors(story: dict[str, Any]) -> None:
    events = [parse(json.dumps(raw)) for raw in story["events"]]
    folded = fold(
        VECTORS["setup"],
        VECTORS["steps"],
        events,
        story["verdicts"],
        countersign=story["countersign"],
    )
    assert to_json(folded) == story["expect"]


def test_the_vectors_hold_every_story() -> None:
    assert [story["name"] for story in VECTORS["stories"]] == list(STORIES)


ALL: list[Event] = list(itertools.chain.from_iterable(story()[0] for story in STORIES.values()))


@settings(max_examples=150, deadline=None)
@given(st.lists(st.sampled_from(range(len(ALL))), max_size=60, unique=True))
def test_any_mixture_of_records_folds_without_failing_and_loses_none(picked: list[int]) -> None:
    events = [ALL[index] for index in picked]
    setup = fold(SETUP, STEPS, events)
    assert sorted(event.id for event in ordered(events)) == sorted(event.id for event in events)
    assert to_json(setup)["of"] >= to_json(setup)["done"]
