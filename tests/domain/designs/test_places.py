"""Everything on the plate, nothing inside another thing: each rule with what breaks it and what keeps it."""

from __future__ import annotations

import pytest

from tests.domain.designs.examples import changed, codes, finding, line_of, read
from tests.domain.designs.rules import C1_AT, P1_AT, Rule, assert_broken, assert_kept

RULES = [
    Rule(
        "a stop lies on the plate",
        "off-the-plate",
        'corner = ["25 mm", "30 mm"]',
        'corner = ["25 mm", "70 mm"]',
        'corner = ["25 mm", "60 mm"]',
        "y 70 to 210 mm, beyond the plate of 300 x 200 mm",
        "move it 10 mm forward",
        '"70 mm"]\nsize',
    ),
    Rule(
        "a part lies on the plate",
        "off-the-plate",
        'at = ["70 mm", "140 mm"]',
        'at = ["70 mm", "190 mm"]',
        'at = ["70 mm", "140 mm"]',
        "the part at P2 reaches from",
        "move it 8 mm forward",
        '"190 mm"',
    ),
    Rule(
        "a receiver lies on the plate",
        "off-the-plate",
        '["60 mm", "100 mm"]',
        '["15 mm", "100 mm"]',
        '["20 mm", "100 mm"]',
        "receiver 1 reaches from x -5",
        "move it 5 mm right",
        '"15 mm"',
    ),
    Rule(
        "an indicator point lies on the plate",
        "off-the-plate",
        'at = ["200 mm", "60 mm"]',
        'at = ["320 mm", "60 mm"]',
        'at = ["299 mm", "60 mm"]',
        "point A reaches",
        "mm left",
        '"320 mm"',
    ),
    Rule(
        "a pocket lies on the plate",
        "off-the-plate",
        'corner = ["220 mm", "100 mm"]',
        'corner = ["270 mm", "100 mm"]',
        'corner = ["260 mm", "100 mm"]',
        "pocket 1 reaches from x 270 to 310 mm",
        "move it 10 mm left",
        '"270 mm"',
    ),
    Rule(
        "a pocket leaves a bottom",
        "pocket-too-deep",
        'depth = "6 mm"',
        'depth = "1 in"',
        'depth = "20 mm"',
        "1 in deep in a plate of 25 mm",
        "below 25 mm",
        '"1 in"',
    ),
    Rule(
        "a contact lies within the part",
        "contact-too-high",
        'contact_height = "10 mm"\n\n[[station]]',
        'contact_height = "25 mm"\n\n[[station]]',
        'contact_height = "18 mm"\n\n[[station]]',
        "lies above the part, which is 24 mm high",
        "up to 24 mm",
        '"25 mm"\n\n[[station]]',
    ),
    Rule(
        "a round part has a diameter",
        "not-round",
        'shape = "block"',
        'shape = "round"',
        'shape = "block"',
        "no two of its sizes are equal",
        "x and z for a bar along y",
        'shape = "round"',
    ),
    Rule(
        "parts do not overlap",
        "overlap",
        'between = ["S1", "C2"]\nat = ["70 mm", "140 mm"]',
        'between = ["S1", "C2"]\nat = ["70 mm", "90 mm"]',
        'between = ["S1", "C2"]\nat = ["70 mm", "140 mm"]',
        "the part at P1 reaches 6 mm into the part at P2",
        "move one of them by 6 mm",
        P1_AT,
    ),
    Rule(
        "a part may touch a stop but not enter it",
        "overlap",
        P1_AT,
        'at = ["69 mm", "60 mm"]',
        'at = ["70.01 mm", "60 mm"]',
        "the part at P1 reaches 1 mm into stop S1",
        "by 1 mm",
        '"69 mm"',
    ),
    Rule(
        "a clamp's screw stands clear of the part",
        "overlap",
        C1_AT,
        'id = "C1"\nspec = "m8-taper"\nat = ["98 mm", "60 mm"]',
        'id = "C1"\nspec = "m8-taper"\nat = ["101 mm", "60 mm"]',
        "clamp C1 reaches 2.5 mm into the part at P1",
        "by 2.5 mm",
        '"98 mm"',
    ),
]


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_a_broken_rule_is_named_with_its_line_and_its_fix(rule: Rule) -> None:
    assert_broken(rule)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_what_keeps_the_rule_passes_it(rule: Rule) -> None:
    assert_kept(rule)


def test_two_clamps_side_by_side_need_room() -> None:
    text = changed('at = ["115 mm", "140 mm"]', 'at = ["115 mm", "80 mm"]')
    found = [each for each in read(text).findings if each.code == "overlap"]
    assert [each.message for each in found] == ["clamp C1 reaches 7.5 mm into clamp C2"]
    assert found[0].line == line_of(text, '"115 mm", "60 mm"')


def test_a_clamp_crowded_by_a_stop_beside_it_gets_advice() -> None:
    text = changed(
        'size = ["20 mm", "140 mm", "18 mm"]\n\n[[spec]]',
        'size = ["20 mm", "140 mm", "18 mm"]\n\n[[stop]]\nid = "S3"\ncorner = ["100 mm", "72 mm"]\n'
        'size = ["20 mm", "40 mm", "18 mm"]\n\n[[spec]]',
    )
    first = finding(text, "clamp-crowded")
    assert (first.level, first.subject) == ("advice", "clamp C1")
    assert "about 27.5 mm wide, may not clear stop S3" in first.message
    assert first.line == line_of(text, '"115 mm", "60 mm"')
    assert "clamp-crowded" not in codes(text.replace('"72 mm"', '"75 mm"'))
