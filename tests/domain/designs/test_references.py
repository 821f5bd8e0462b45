"""Ids, references and complete specs: each rule with what breaks it and what keeps it."""

from __future__ import annotations

import pytest

from tests.domain.designs.examples import BASE, changed, codes, read
from tests.domain.designs.rules import Rule, assert_broken, assert_kept

RULES = [
    Rule(
        "a stop and a clamp may not share an id",
        "duplicate-id",
        'id = "C1"\nspec',
        'id = "S1"\nspec',
        'id = "C1"\nspec',
        "already used by the stop on line",
        "give this clamp another id",
        'id = "S1"\nspec',
        subject="clamp S1",
    ),
    Rule(
        "a clamp's spec exists",
        "unknown-spec",
        'id = "C1"\nspec = "m8-taper"',
        'id = "C1"\nspec = "m9-taper"',
        'id = "C1"\nspec = "516-wedge"',
        "spec 'm9-taper' is neither in this file nor in the stores",
        'add a [[spec]] with id = "m9-taper", or name one of m8-taper',
        'spec = "m9-taper"',
    ),
    Rule(
        "an anchor exists",
        "unknown-anchor",
        'between = ["S1", "C1"]',
        'between = ["S1", "C9"]',
        'between = ["C1", "S1"]',
        "'C9' is neither a stop nor a clamp",
        "name two of S1, S2, C1, C2",
        '"C9"',
    ),
    Rule(
        "the two anchors of a station differ",
        "same-anchor",
        'between = ["S1", "C1"]',
        'between = ["C1", "C1"]',
        'between = ["C1", "S1"]',
        "both anchors are C1",
        "on each side of the part",
        'between = ["C1", "C1"]',
    ),
    Rule(
        "a grease is in the stores",
        "unknown-grease",
        '"ep-grease"',
        '"goose-fat"',
        '"moly-paste"',
        "'goose-fat' is not in the stores",
        "name one of ep-grease, moly-paste, light-oil",
        "goose-fat",
    ),
    Rule(
        "a material is in the stores",
        "unknown-material",
        'size = ["300 mm", "200 mm", "25 mm"]\nmaterial = "6061-T6"',
        'size = ["300 mm", "200 mm", "25 mm"]\nmaterial = "6061"',
        'size = ["300 mm", "200 mm", "25 mm"]\nmaterial = "7075-T651"',
        "'6061' is not in the stores",
        "name one of 6061-T6",
        'material = "6061"\n',
        subject="plate",
    ),
    Rule(
        "the order names every clamp",
        "order",
        'order = ["C1", "C2"]',
        'order = ["C2"]',
        'order = "auto"',
        "C1 is missing from the order",
        "every clamp is tightened once per pass",
        'order = ["C2"]',
    ),
    Rule(
        "the order names only clamps",
        "order",
        'order = ["C1", "C2"]',
        'order = ["C1", "C2", "S1"]',
        'order = ["C2", "C1"]',
        "S1 names no clamp",
        "take it out",
        'order = ["C1"',
    ),
    Rule(
        "the order names no clamp twice",
        "order",
        'order = ["C1", "C2"]',
        'order = ["C1", "C2", "C1"]',
        'order = ["C2", "C1"]',
        "C1 stands more than once",
        "list every clamp once",
        'order = ["C1"',
    ),
    Rule(
        "a cone spec is complete",
        "incomplete-spec",
        'contact_radius = "5.5 mm"\n',
        "",
        'contact_radius = "0.2 in"\n',
        "a cone spec needs contact_radius",
        'add contact_radius = "5.5 mm"',
        "[[spec]]",
    ),
    Rule(
        "a thread is in the table",
        "incomplete-spec",
        'thread = "M8"',
        'thread = "M7"',
        'thread = "M8x1.25"',
        "the thread 'M7' is not in the table",
        "write one of M4, M5, M6, M8",
        'thread = "M7"',
    ),
]


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_a_broken_rule_is_named_with_its_line_and_its_fix(rule: Rule) -> None:
    assert_broken(rule)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_what_keeps_the_rule_passes_it(rule: Rule) -> None:
    assert_kept(rule)


def test_the_base_design_has_nothing_against_it() -> None:
    reading = read(BASE)
    assert reading.findings == []
    assert reading.design is not None


def test_checks_that_need_the_references_wait_until_they_are_mended() -> None:
    text = changed('between = ["S1", "C1"]', 'between = ["S1", "C9"]')
    assert codes(text.replace("0.3, 0.7, 1.0", "0.7, 0.3, 1.0")) == {"unknown-anchor"}
