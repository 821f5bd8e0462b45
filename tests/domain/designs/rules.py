"""A rule of the checker as a test sees it: what breaks it, what it says and where, what passes it."""

from __future__ import annotations

from dataclasses import dataclass

from tests.domain.designs.examples import changed, codes, line_of, read


@dataclass(frozen=True)
class Rule:
    """`old` in the base design becomes `bad`, which breaks the rule, or `good`, which does not.

    `at` is text on the line the finding must name; it stands once in the broken design.
    """

    name: str
    code: str
    old: str
    bad: str
    good: str
    says: str
    fix: str
    at: str
    level: str = "stop"
    subject: str = ""


C1_AT = 'id = "C1"\nspec = "m8-taper"\nat = ["115 mm", "60 mm"]'
P1_AT = 'at = ["70 mm", "60 mm"]'
C1_TORQUE = 'at = ["115 mm", "60 mm"]\naxis = "x"\ntorque = "12 N*m"'
SPEC_END = 'rated = { torque = "15 N*m", force = "9 kN" }'


def assert_broken(rule: Rule) -> None:
    """The broken design gets the finding, with its level, words, fix, line and subject."""
    text = changed(rule.old, rule.bad)
    found = [each for each in read(text).findings if each.code == rule.code]
    assert found, [str(each) for each in read(text).findings]
    first = found[0]
    assert first.level == rule.level
    assert rule.says in first.message
    assert rule.fix in first.fix
    line = line_of(text, rule.at)
    assert line <= first.line <= line + rule.at.rstrip("\n").count("\n")
    assert not rule.subject or first.subject == rule.subject


def assert_kept(rule: Rule) -> None:
    assert rule.code not in codes(changed(rule.old, rule.good))
