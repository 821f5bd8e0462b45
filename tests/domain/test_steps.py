"""The plan of steps: order, conditions and what blocks what."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from api.domain.steps import Point, plan_of, select
from tests.support.script import NOTHING_DUE, layout, steps_of

VECTORS = json.loads((Path(__file__).parents[1] / "vectors/plan.json").read_text())


def ids(steps: list[dict[str, Any]]) -> list[str]:
    return [step["id"] for step in steps]


def test_the_plain_plan_runs_from_cleaning_to_unloading() -> None:
    assert ids(select(steps_of(layout()), NOTHING_DUE)) == [
        "clean/top",
        "clean/underside",
        "clean/stop/S1",
        "clean/receiver/1",
        "clean/stud/1",
        "free/C1",
        "free/C2",
        "load/P1",
        "snug/C2",
        "snug/C1",
        "zero/A",
        "torque/1/C2",
        "torque/1/C1",
        "torque/2/C2",
        "torque/2/C1",
        "recheck/C2",
        "recheck/C1",
        "read/A/torqued free",
        "lock",
        "gap/1",
        "read/A/torqued locked",
        "judge",
        "sign",
        "machine",
        "unload",
    ]


def test_grease_comes_before_the_parts_and_only_when_due() -> None:
    due = ids(select(steps_of(layout()), {**NOTHING_DUE, "grease_due": True}))
    assert due.index("free/C2") < due.index("grease/C1") < due.index("load/P1")
    assert "grease/C1" not in ids(select(steps_of(layout()), NOTHING_DUE))


def test_a_due_baseline_reads_the_empty_locked_plate_before_loading() -> None:
    due = ids(select(steps_of(layout()), {**NOTHING_DUE, "baseline_due": True}))
    start = due.index("lock/empty")
    baseline = ["lock/empty", "zero/A/empty", "read/A/empty locked", "unlock/empty"]
    assert due[start : start + 4] == baseline
    assert due.index("unlock/empty") < due.index("load/P1")


def test_only_the_chosen_clamps_are_touched_again() -> None:
    chosen = ids(select(steps_of(layout()), {**NOTHING_DUE, "second_touch": ["C1"]}))
    assert "touch/C1" in chosen and "touch/C2" not in chosen


def test_tightening_on_the_locked_plate_locks_first() -> None:
    steps = ids(select(steps_of(layout(tighten_locked=True)), NOTHING_DUE))
    assert steps.index("zero/A") < steps.index("lock") < steps.index("torque/1/C2")
    assert "read/A/torqued free" not in steps
    assert steps.index("recheck/C1") < steps.index("read/A/torqued locked")


def test_each_pass_asks_its_share_of_full_torque() -> None:
    targets = {step.id: step.target_nm for step in plan_of(layout())}
    assert (targets["torque/1/C1"], targets["torque/2/C1"]) == (6.0, 12.0)
    assert targets["recheck/C1"] == 12.0


def test_limits_stand_only_at_the_state_the_point_is_judged_in() -> None:
    limits = {step.id: step.limits_mm for step in plan_of(layout())}
    assert limits["read/A/torqued free"] is None
    assert limits["read/A/torqued locked"] == (-0.05, 0.05)


def test_an_open_clamp_blocks_the_lock_but_not_its_neighbour() -> None:
    step = next(step for step in plan_of(layout()) if step.id == "torque/1/C2")
    assert "lock" in step.blocks and "sign" in step.blocks and "torque" not in step.blocks


def test_a_heavy_plate_is_lifted_before_it_is_locked() -> None:
    steps = ids(steps_of(layout(lift=True)))
    assert steps.index("lift") < steps.index("lock")


def test_a_finish_torque_adds_an_easing_step_while_in_the_machine() -> None:
    steps = ids(steps_of(layout(finish_nm={"C1": 6.0})))
    assert steps.index("machine") < steps.index("ease/C1") < steps.index("unload")


def test_a_point_zeroed_on_the_empty_plate_always_locks_it_first() -> None:
    point = Point("A", "empty locked", "torqued locked", (-0.05, 0.05))
    steps = ids(select(steps_of(layout(points=(point,))), NOTHING_DUE))
    assert steps.index("lock/empty") < steps.index("zero/A/empty") < steps.index("load/P1")


def test_step_ids_are_unique() -> None:
    found = ids(steps_of(layout(lift=True, finish_nm={"C1": 6.0})))
    assert len(found) == len(set(found))


@pytest.mark.parametrize("vector", VECTORS, ids=lambda vector: vector["name"])
def test_selection_agrees_with_the_shared_vectors(vector: dict[str, Any]) -> None:
    assert ids(select(vector["steps"], vector["facts"])) == vector["expect"]
