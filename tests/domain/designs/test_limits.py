"""Torques, threads, passes, states, indicators and mass: each rule with what breaks it and what keeps it."""

from __future__ import annotations

import pytest

from tests.domain.designs.rules import SPEC_END, Rule, assert_broken, assert_kept

RULES = [
    Rule(
        "a torque stays under the clamp's rating",
        "torque-above-cap",
        'torque = "12 N*m"\nfinish',
        'torque = "15.1 N*m"\nfinish',
        'torque = "132 lbf*in"\nfinish',
        "15.1 N*m is above what the rating of m8-taper takes, estimated 15 N*m",
        "give at most 15 N*m",
        '"15.1 N*m"',
        subject="clamp C2",
    ),
    Rule(
        "finishing is not above full torque",
        "finish-above-torque",
        'finish_torque = "6 N*m"',
        'finish_torque = "13 N*m"',
        'finish_torque = "12 N*m"',
        "13 N*m is above the torque 12 N*m",
        "or exchange the two",
        '"13 N*m"',
    ),
    Rule(
        "a thread fits into the plate",
        "engagement-too-long",
        '"25 mm"]\nmaterial',
        '"12 mm"]\nmaterial',
        '"14 mm"]\nmaterial',
        "14 mm of thread do not fit into the 12 mm of plate",
        "up to 12 mm",
        'id = "C1"\nspec = "m8-taper"',
    ),
    Rule(
        "at least three full threads carry",
        "engagement-too-short",
        'engagement = "14 mm"',
        'engagement = "4.5 mm"',
        'engagement = "4.8 mm"',
        "leave 2.8 full threads of M8",
        "at least 4.75 mm",
        'id = "C1"\nspec = "m8-taper"',
    ),
    Rule(
        "the passes do not fall",
        "passes",
        "passes = [0.3, 0.7, 1.0]",
        "passes = [0.7, 0.3, 1.0]",
        "passes = [0.5, 1.0, 1.0]",
        "fall from one pass to the next",
        "passes = [0.3, 0.7, 1.0]",
        "passes = [0.7",
    ),
    Rule(
        "the last pass is full torque",
        "passes",
        "passes = [0.3, 0.7, 1.0]",
        "passes = [0.3, 0.7, 0.9]",
        "passes = [1.0]",
        "do not end at 1.0",
        "passes = [0.3, 0.7, 0.9, 1.0]",
        "passes = [0.3",
    ),
    Rule(
        "a state is reached",
        "state-never-reached",
        'read = "torqued locked"',
        'read = "snug locked"',
        'read = "torqued free"',
        "never 'snug locked' when it is tightened free",
        "choose one of empty locked, snug free, torqued free, torqued locked",
        'read = "snug locked"',
    ),
    Rule(
        "a reading comes after its zero",
        "read-before-zero",
        'zero = "snug free"',
        'zero = "torqued locked"',
        'zero = "torqued free"',
        "does not come after its zero in 'torqued locked'",
        "or zero it earlier",
        "\nread =",
    ),
    Rule(
        "a point lies on the free plate",
        "point-covered",
        'at = ["200 mm", "60 mm"]',
        'at = ["145 mm", "60 mm"]',
        'at = ["156 mm", "60 mm"]',
        "point A lies on stop S2",
        "move the point",
        '"145 mm"',
        level="advice",
    ),
    Rule(
        "an indicator can judge the limit",
        "indicator-too-coarse",
        'limit = "0.10 mm"',
        'limit = "0.039 mm"',
        'limit = "0.04 mm"',
        "3.9 graduations of I-01",
        "an indicator of 0.0039 mm or finer",
        'limit = "0.039 mm"',
    ),
    Rule(
        "a finer indicator is advised",
        "indicator-coarse",
        'limit = "0.10 mm"',
        'limit = ["-0.01 mm", "0.05 mm"]',
        'limit = ["-0.05 mm", "0.06 mm"]',
        "the limit of 0.06 mm at A is 6.0 graduations",
        "0.006 mm or finer",
        "limit =",
        level="advice",
    ),
    Rule(
        "a rating is given",
        "no-rating",
        SPEC_END,
        "",
        'rated = { torque = "15 N*m" }',
        "only screw and plate limit its torque",
        "from the data sheet",
        "[[spec]]",
        level="advice",
    ),
    Rule(
        "a missing stiffness is said",
        "default-stiffness",
        'stiffness = "60 kN/mm"\n',
        "",
        'stiffness = "340000 lbf/in"\n',
        "a usual one is assumed",
        "once it is measured",
        "[[spec]]",
        level="note",
    ),
    Rule(
        "a heavy plate gets a hoist",
        "heavy",
        '"200 mm", "25 mm"]\nmaterial = "6061-T6"',
        '"200 mm", "60 mm"]\nmaterial = "1018"',
        '"200 mm", "40 mm"]\nmaterial = "1018"',
        "above the lifting limit of 23 kg; a step for the hoist is added",
        "plan lifting gear",
        '"60 mm"]\nmaterial',
        level="advice",
    ),
]


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_a_broken_rule_is_named_with_its_line_and_its_fix(rule: Rule) -> None:
    assert_broken(rule)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_what_keeps_the_rule_passes_it(rule: Rule) -> None:
    assert_kept(rule)
