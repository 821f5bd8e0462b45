"""Stations between two anchors on one line: each rule with what breaks it and what keeps it."""

from __future__ import annotations

import pytest

from tests.domain.designs.examples import changed, line_of, read
from tests.domain.designs.rules import C1_AT, Rule, assert_broken, assert_kept

RULES = [
    Rule(
        "a part touches its stop",
        "no-contact",
        'corner = ["25 mm", "30 mm"]',
        'corner = ["23 mm", "30 mm"]',
        'corner = ["24.6 mm", "30 mm"]',
        "the part at P1 stands 2 mm away from stop S1",
        "by 2 mm so that they touch",
        'between = ["S1", "C1"]',
    ),
    Rule(
        "a clamp reaches its part",
        "no-contact",
        C1_AT,
        'id = "C1"\nspec = "m8-taper"\nat = ["160 mm", "60 mm"]',
        'id = "C1"\nspec = "m8-taper"\nat = ["120 mm", "60 mm"]',
        "stands 65 mm away from the axis of clamp C1",
        "closer",
        'between = ["S1", "C1"]',
    ),
    Rule(
        "station and clamp are on one line",
        "not-in-line",
        C1_AT,
        'id = "C1"\nspec = "m8-taper"\nat = ["115 mm", "64 mm"]',
        'id = "C1"\nspec = "m8-taper"\nat = ["115 mm", "60.9 mm"]',
        "the line of force through P1 misses C1 by 4 mm",
        "on one line along the clamp's axis",
        'between = ["S1", "C1"]',
    ),
    Rule(
        "the line of force meets the stop",
        "not-in-line",
        C1_AT + '\naxis = "x"',
        C1_AT + '\naxis = "y"',
        C1_AT + '\naxis = "180 deg"',
        "the line of force through P1 misses",
        "on one line",
        'between = ["S1", "C1"]',
    ),
    Rule(
        "the anchors stand on both sides of the part",
        "same-side",
        'between = ["S1", "C1"]',
        'between = ["S2", "C1"]',
        'between = ["S1", "C1"]',
        "S2 and C1 stand on the same side",
        "one anchor on each side",
        'between = ["S2", "C1"]',
    ),
    Rule(
        "a station has a clamp",
        "no-clamp",
        'between = ["S1", "C1"]',
        'between = ["S1", "S2"]',
        'between = ["S1", "C1"]',
        "both anchors of P1 are stops",
        "name a clamp",
        'between = ["S1", "S2"]',
    ),
    Rule(
        "a clamp holds something",
        "idle-clamp",
        'between = ["S1", "C2"]\nat = ["70 mm", "140 mm"]',
        'between = ["S1", "C1"]\nat = ["70 mm", "140 mm"]',
        'between = ["S1", "C2"]\nat = ["70 mm", "140 mm"]',
        "no station names clamp C2",
        "or take it out",
        'id = "C2"',
    ),
    Rule(
        "a clamp presses on two sides",
        "one-sided-clamp",
        'corner = ["135 mm", "30 mm"]',
        'corner = ["185 mm", "30 mm"]',
        'corner = ["160 mm", "30 mm"]',
        "clamp C1 presses on one side only",
        "on the other side too",
        '"115 mm", "60 mm"',
        level="advice",
    ),
]


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_a_broken_rule_is_named_with_its_line_and_its_fix(rule: Rule) -> None:
    assert_broken(rule)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_what_keeps_the_rule_passes_it(rule: Rule) -> None:
    assert_kept(rule)


def test_two_clamps_with_different_axes_do_not_hold_a_part_between_them() -> None:
    text = changed('between = ["S1", "C1"]', 'between = ["C2", "C1"]')
    text = text.replace(
        'at = ["115 mm", "140 mm"]\naxis = "x"', 'at = ["115 mm", "140 mm"]\naxis = "45 deg"'
    )
    found = [each for each in read(text).findings if each.code == "not-in-line"]
    assert "C2 and C1 spread in different directions" in found[0].message
    assert found[0].fix == "give both clamps the same axis"
    assert found[0].line == line_of(text, 'between = ["C2", "C1"]')
