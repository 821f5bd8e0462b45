"""Quantities: a number with its unit, refused with what would be right."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.domain.units import Quantity, QuantityError, parse, parse_agreeing, to_si, to_unit
from api.domain.units.tables import DIMENSIONS, EXAMPLES, UNITS, Dimension

VECTORS: dict[str, Any] = json.loads(
    (Path(__file__).parents[1] / "vectors" / "units.json").read_text("utf-8")
)


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("25 mm", "length", 0.025),
        ("0.984 in", "length", 0.0249936),
        ("2 µm", "length", 2e-6),
        ("2 μm", "length", 2e-6),
        ("2um", "length", 2e-6),
        ("-0.03 mm", "length", -3e-5),
        (".5 m", "length", 0.5),
        ("12 N*m", "torque", 12.0),
        ("12 N·m", "torque", 12.0),
        ("106 lbf*in", "torque", 11.976391876927368),
        ("106 in*lbf", "torque", 11.976391876927368),
        ("8.9 ft*lbf", "torque", 12.066779740149464),
        ("8.9 lbf*ft", "torque", 12.066779740149464),
        ("10 kN", "force", 1e4),
        ("2250 lbf", "force", 10008.498634397),
        ("5 deg", "angle", math.radians(5)),
        ("15 min", "time", 900.0),
        ("2 h", "time", 7200.0),
        ("60 kN/mm", "stiffness", 6e7),
        ("400 m/min", "speed", 400 / 60),
        ("1000 ft/min", "speed", 5.08),
        ("276 MPa", "pressure", 276e6),
        ("15 %", "share", 0.15),
        ("11 kg", "mass", 11.0),
        ("2 yd", "length", 1.8288),
        ("40 psi", "pressure", 275790.29172),
        ("2e1 mm", "length", 0.02),
    ],
)
def test_a_quantity_is_read_into_si(text: str, dimension: Dimension, value: float) -> None:
    found = parse(text, dimension)
    assert found.value == pytest.approx(value, rel=1e-9)
    assert found.text == text


@pytest.mark.parametrize(
    ("text", "dimension", "code", "says", "fix"),
    [
        (12, "torque", "bare-number", "12 has no unit; a torque is due", '"12 N*m"'),
        (0.5, "length", "bare-number", "0.5 has no unit; a length is due", '"25 mm"'),
        (
            "12",
            "torque",
            "bare-number",
            "'12' has no unit",
            '"12 N*m", "106 lbf*in" or "8.9 lbf*ft"',
        ),
        (
            "10 kN",
            "torque",
            "wrong-dimension",
            "'10 kN' is a force, but a torque is due",
            "write a torque",
        ),
        (
            "5 J",
            "torque",
            "wrong-dimension",
            "measures something else than a torque",
            "write a torque",
        ),
        ("5 mm", "angle", "wrong-dimension", "is a length, but an angle is due", '"5 deg"'),
        (
            "12 Nm",
            "torque",
            "unknown-unit",
            "'Nm' in '12 Nm' is not a unit used here",
            'write "12 N*m"',
        ),
        ("12 nm", "torque", "unknown-unit", "'nm' in '12 nm'", 'write "12 N*m"'),
        ("106 in-lb", "torque", "unknown-unit", "'in-lb'", 'write "106 lbf*in"'),
        ("9 ft lb", "torque", "unknown-unit", "'ftlb'", 'write "9 lbf*ft"'),
        ("3 blah", "length", "unknown-unit", "the unit 'blah' in '3 blah' is not known", '"25 mm"'),
        ("3 __import__('os')", "length", "unknown-unit", "is not known", '"25 mm"'),
        ("nan mm", "length", "not-finite", "'nan mm' is not a finite number", '"25 mm"'),
        ("-inf N", "force", "not-finite", "not a finite number", '"10 kN"'),
        (math.nan, "force", "not-finite", "nan stands where a force is due", '"10 kN"'),
        ("1e999 mm", "length", "not-finite", "not a finite number", '"25 mm"'),
        (
            "0,05 mm",
            "length",
            "not-a-quantity",
            "has a decimal comma",
            'write a decimal point: "0.05 mm"',
        ),
        ("wide", "length", "not-a-quantity", "'wide' is not a number with a unit", '"25 mm"'),
        ("--3 mm", "length", "not-a-quantity", "is not a number with a unit", '"25 mm"'),
        ("٣ mm", "length", "not-a-quantity", "is not a number with a unit", '"25 mm"'),
        ("", "length", "not-a-quantity", "is not a number with a unit", '"25 mm"'),
        ("9" * 61, "length", "not-a-quantity", "a text of 61 characters", '"25 mm"'),
        (True, "length", "not-a-quantity", "true or false stands where a length is due", '"25 mm"'),
        ({}, "length", "not-a-quantity", "a table stands where a length is due", '"25 mm"'),
        (None, "time", "not-a-quantity", "nothing stands where a time is due", '"25 s"'),
    ],
)
def test_what_is_no_quantity_is_refused_with_what_would_be_right(
    text: object, dimension: Dimension, code: str, says: str, fix: str
) -> None:
    with pytest.raises(QuantityError) as refused:
        parse(text, dimension)
    assert refused.value.code == code
    assert says in refused.value.message
    assert fix in refused.value.fix


def test_two_values_for_one_thing_are_taken_if_they_agree_within_2_percent() -> None:
    found = parse_agreeing(["12 N*m", "106 lbf*in"], "torque")
    assert found == Quantity("12 N*m", 12.0, "torque", confirmed=True)


@pytest.mark.parametrize(
    ("texts", "fix"),
    [
        (["12 N*m", "12 lbf*ft"], "12 N*m is 8.851 lbf*ft"),
        (["28.5 N*m", "21 lbf*in"], "28.5 N*m is 252.2 lbf*in"),
        (["12 N*m", "109 lbf*in"], "12 N*m is 106.2 lbf*in"),
    ],
)
def test_two_values_that_disagree_are_refused_with_the_first_in_the_other_unit(
    texts: list[object], fix: str
) -> None:
    with pytest.raises(QuantityError) as refused:
        parse_agreeing(texts, "torque")
    assert refused.value.code == "values-disagree"
    assert fix in refused.value.fix


@pytest.mark.parametrize("texts", [[], ["12 N*m"], ["12 N*m"] * 4])
def test_a_list_that_is_no_pair_of_values_is_refused(texts: list[object]) -> None:
    with pytest.raises(QuantityError, match="stands where one torque is due"):
        parse_agreeing(texts, "torque")


# Torque pairs printed in a published fixture-plate table, and textbook conversions of it.
@pytest.mark.parametrize(
    ("pounds", "unit", "nm", "digits"),
    [
        (60, "lbf*ft", 81.3, 1),
        (13, "lbf*ft", 17.6, 1),
        (34, "lbf*ft", 46.1, 1),
        (50, "lbf*ft", 67.8, 1),
        (18, "lbf*ft", 24.4, 1),
        (45, "lbf*ft", 61.0, 1),
        (75, "lbf*in", 8.47, 2),
        (21, "lbf*in", 2.37, 2),
        (252, "lbf*in", 28.5, 1),
    ],
)
def test_pounds_convert_to_newton_metres_as_in_the_trade(
    pounds: float, unit: str, nm: float, digits: int
) -> None:
    assert round(to_si(pounds, unit), digits) == nm


@pytest.mark.parametrize("case", VECTORS["torque"], ids=lambda case: f"{case['nm']} {case['unit']}")
def test_torques_convert_as_on_the_tablet(case: dict[str, Any]) -> None:
    assert to_unit(case["nm"], case["unit"]) == pytest.approx(case["value"], rel=1e-12)


@pytest.mark.parametrize("case", VECTORS["length"], ids=lambda case: f"{case['mm']} {case['unit']}")
def test_lengths_convert_as_on_the_tablet(case: dict[str, Any]) -> None:
    assert to_unit(case["mm"] / 1e3, case["unit"]) == pytest.approx(case["value"], rel=1e-12)


@given(st.floats(-1e6, 1e6), st.sampled_from(sorted(UNITS)))
def test_a_value_survives_the_way_to_a_unit_and_back(value: float, unit: str) -> None:
    assert to_si(to_unit(value, unit), unit) == pytest.approx(value, rel=1e-12, abs=1e-300)


@given(st.text(max_size=80), st.sampled_from(DIMENSIONS))
def test_any_text_is_a_quantity_or_refused_in_words(text: str, dimension: Dimension) -> None:
    try:
        assert math.isfinite(parse(text, dimension).value)
    except QuantityError as refused:
        assert refused.message
        assert refused.fix


def test_every_dimension_has_an_example_that_can_be_read() -> None:
    for dimension in DIMENSIONS:
        for example in EXAMPLES[dimension].replace('" or "', '", "').strip('"').split('", "'):
            assert parse(example, dimension).dimension == dimension


def test_pint_agrees_with_the_table_of_units() -> None:
    from pint import UnitRegistry

    registry: UnitRegistry[float] = UnitRegistry()
    for unit, (_, factor) in UNITS.items():
        if unit != "%":
            measured = registry.Quantity(1.0, unit).to_base_units().magnitude
            assert measured == pytest.approx(factor, rel=1e-9), unit


def test_common_units_do_not_load_pint() -> None:
    script = (
        "import sys; from api.domain.units import parse; parse('12 N*m', 'torque'); "
        "sys.exit('pint' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", script], check=False).returncode == 0
