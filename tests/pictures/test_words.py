"""Numbers and sentences as they are read."""

from __future__ import annotations

import pytest

from api.domain.analyses.result import Check
from api.pictures import words
from api.pictures.steps import line_step, round_step


@pytest.mark.parametrize(
    ("value", "told"),
    [(0.04, "0"), (-0.04, "0"), (0.26, "0.3"), (-6, "\u22126.0"), (9.96, "10"), (512.4, "512")],
)
def test_micrometres_have_a_decimal_only_below_ten(value: float, told: str) -> None:
    assert words.um(value) == told


def test_forces_have_two_decimals_and_what_is_not_known_is_said() -> None:
    assert words.kn(5480.4) == "5.48"
    assert words.kn(-2) == "0.00"
    assert words.kn(None) == words.nm(None) == "none"
    assert words.multiple(None) == "no limit"


@pytest.mark.parametrize(
    ("seconds", "told"), [(12.4, "12 s"), (245, "4 min 05 s"), (4320, "1 h 12 min")]
)
def test_times_are_in_the_units_that_matter(seconds: float, told: str) -> None:
    assert words.minutes(seconds) == told


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("put it lower", "Put it lower."),
        ("m8-taper jams at 4 N*m", "m8-taper jams at 4 N·m."),
        ('write "12 N*m", not 12 lbf*in', 'Write "12 N*m", not 12 lbf·in.'),
        ("it rises by 12 um; a minimum", "It rises by 12 µm; a minimum."),
    ],
)
def test_a_sentence_is_printed_with_units_but_quotes_the_file_as_it_is(
    text: str, told: str
) -> None:
    assert words.sentence(text) == told


@pytest.mark.parametrize(
    ("subject", "message", "told"),
    [
        ("clamp C1", "C1 ends at 46 %", "C1 ends at 46 %."),
        ("clamp C1", "C12 ends at 46 %", "Clamp C1: C12 ends at 46 %."),
        ("part", "no constants are known", "Part: no constants are known."),
        ("", "nothing is known", "Nothing is known."),
    ],
)
def test_a_finding_names_what_it_is_about_once(subject: str, message: str, told: str) -> None:
    check = Check(code="x", level="note", subject=subject, message=message, fix="")
    assert words.said(check) == told


@pytest.mark.parametrize(
    ("span", "most", "step"), [(612, 12, 100), (600, 12, 50), (0.9, 12, 0.1), (7, 7, 1)]
)
def test_a_step_is_round_and_gives_no_more_than_asked(span: float, most: int, step: float) -> None:
    assert round_step(span, most) == pytest.approx(step)


@pytest.mark.parametrize(
    ("span", "band", "step"), [(250, 50, 25), (612, 50, 50), (2.2, 50, 0.2), (90, 100, 10)]
)
def test_a_band_of_colour_holds_a_whole_number_of_lines(
    span: float, band: float, step: float
) -> None:
    assert line_step(span, 12, band) == pytest.approx(step)
