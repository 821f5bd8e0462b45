"""Fields of the design file that are malformed, missing or unknown."""

from __future__ import annotations

import pytest

from tests.domain.designs.examples import changed, finding, line_of, read


@pytest.mark.parametrize(
    ("old", "new", "code", "subject", "field", "at"),
    [
        (
            'half_angle = "10 deg"',
            'half_angle = "10 mm"',
            "wrong-dimension",
            "spec m8-taper",
            "spec[0].half_angle",
            '"10 mm"\ncontact_r',
        ),
        (
            'depth = "6 mm"',
            'depth = "6 furlongz"',
            "unknown-unit",
            "plate",
            "plate.pocket[0].depth",
            "furlongz",
        ),
        (
            'torque = "15 N*m", force',
            'torque = "nan N*m", force',
            "not-finite",
            "spec m8-taper",
            "spec[0].rated.torque",
            "nan",
        ),
        ('"36 mm", "24 mm"', '"36 mm", "24 km"', "nonsense-size", "part", "part.size[2]", "24 km"),
        (
            'pull = "15 kN"',
            'pull = "15 MN"',
            "nonsense-size",
            "receivers",
            "receivers.pull",
            "15 MN",
        ),
        (
            '["60 mm", "100 mm"]',
            '["60 mm", 100]',
            "bare-number",
            "receivers",
            "receivers.at[0][1]",
            "100]",
        ),
        (
            '"300 mm", "200 mm"',
            '"-300 mm", "200 mm"',
            "nonsense-size",
            "plate",
            "plate.size[0]",
            "-300",
        ),
        (
            'axis = "x"\ntorque = "12 N*m"\n\n',
            'axis = "z"\ntorque = "12 N*m"\n\n',
            "axis",
            "clamp C1",
            "clamp[0].axis",
            '"z"',
        ),
        (
            'limit = "0.10 mm"',
            'limit = ["0.05 mm", "-0.01 mm"]',
            "limits",
            "point A",
            "point[0].limit",
            "limit =",
        ),
        (
            'limit = "0.10 mm"',
            'limit = "0 mm"',
            "nonsense-size",
            "point A",
            "point[0].limit",
            "limit =",
        ),
        (
            'limit = "0.10 mm"',
            'limit = ["0.05 mm"]',
            "limits",
            "point A",
            "point[0].limit",
            "limit =",
        ),
        (
            'lubricant = "ep-grease"',
            "friction = 12",
            "friction-above-one",
            "spec m8-taper",
            "spec[0].friction",
            "friction",
        ),
        (
            'lubricant = "ep-grease"',
            "friction = { low = 0.2, usual = 0.1, high = 0.3 }",
            "friction",
            "spec m8-taper",
            "spec[0].friction",
            "friction",
        ),
        (
            'torque = "12 N*m"\nfin',
            'torque = ["12 N*m", "12 lbf*ft"]\nfin',
            "values-disagree",
            "clamp C2",
            "clamp[1].torque",
            "lbf*ft",
        ),
        ('bore = "20 mm"', 'bore = "40 mm"', "pad", "receivers", "receivers.pad", "bore ="),
        (
            'rest = "pads"',
            'rest = "cushions"',
            "not-a-choice",
            "receivers",
            "receivers.rest",
            "cushions",
        ),
        (
            'contact_radius = "5.5 mm"',
            'contact_radius = "5.5 mm"\ncolour = "red"',
            "unknown-field",
            "spec m8-taper",
            "spec[0].colour",
            "colour",
        ),
        ('kind = "cone"\n', "", "missing", "spec m8-taper", "spec[0].kind", "[[spec]]"),
        ('code = "TST-01"', 'code = "tst 01"', "bad-name", "design", "code", "code ="),
        (
            "passes = [0.3, 0.7, 1.0]",
            "passes = [0.3, 0.7, 1.2]",
            "out-of-range",
            "tightening",
            "tightening.passes[2]",
            "1.2",
        ),
        (
            "passes = [0.3, 0.7, 1.0]",
            "passes = []",
            "out-of-range",
            "tightening",
            "tightening.passes",
            "passes =",
        ),
        (
            'order = ["C1", "C2"]',
            "order = [1, 2]",
            "order",
            "tightening",
            "tightening.order",
            "order =",
        ),
        (
            'plate = "free"',
            'plate = "free"\nrecheck = "yes"',
            "wrong-kind",
            "tightening",
            "tightening.recheck",
            "recheck",
        ),
        (
            'between = ["S1", "C1"]',
            'between = ["S1"]',
            "missing",
            "station P1",
            "station[0].between[1]",
            'between = ["S1"]',
        ),
    ],
)
def test_a_malformed_field_is_named_with_subject_field_and_line(
    old: str, new: str, code: str, subject: str, field: str, at: str
) -> None:
    text = changed(old, new)
    found = finding(text, code)
    assert (found.subject, found.field, found.level) == (subject, field, "stop")
    assert found.line == line_of(text, at)
    assert found.fix
    assert read(text).design is None


@pytest.mark.parametrize(
    ("friction", "meant"), [("1.2", "0.12"), ("12", "0.12"), ("1.6", "0.16"), ("3", "0.3")]
)
def test_a_lost_decimal_point_in_friction_is_named(friction: str, meant: str) -> None:
    found = finding(
        changed('lubricant = "ep-grease"', f"friction = {friction}"), "friction-above-one"
    )
    assert "is above 1; probably a decimal point is lost" in found.message
    assert f"write {meant} if that is meant" in found.fix


def test_friction_up_to_one_is_taken() -> None:
    assert read(changed('lubricant = "ep-grease"', "friction = 0.12")).findings == []
    table = "friction = { low = 0.08, usual = 0.12, high = 0.16 }"
    assert read(changed('lubricant = "ep-grease"', table)).findings == []


def test_a_misspelt_field_is_answered_with_the_right_one() -> None:
    found = finding(changed('thread = "M8"', 'thred = "M8"'), "unknown-field")
    assert found.message == "thred is not a field known here"
    assert found.fix == "write thread, or take it out"


def test_all_malformed_fields_are_reported_at_once() -> None:
    text = changed('torque = "12 N*m"\n\n', "torque = 12\n\n").replace(
        'depth = "6 mm"', 'depth = "6 N"'
    )
    assert {each.code for each in read(text).findings} == {"bare-number", "wrong-dimension"}


def test_two_values_that_agree_are_taken_as_one() -> None:
    reading = read(changed('torque = "12 N*m"\n\n', 'torque = ["12 N*m", "106 lbf*in"]\n\n'))
    assert reading.findings == []
    assert reading.design is not None
    assert reading.design.clamps[0].torque_nm == 12.0
