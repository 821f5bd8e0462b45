"""Torques against the thread's usual range, the stores' tools, and what is not registered."""

from __future__ import annotations

import pytest

from api.domain.designs.strength.plausible import band_nm, probable_slips
from api.domain.units import parse
from api.mechanics.screws.sizes import THREADS
from tests.domain.designs.examples import BASE, changed, codes, finding, line_of, read, stores, tool

C1_TORQUE = 'at = ["115 mm", "60 mm"]\naxis = "x"\ntorque = '


def with_torque(text: str) -> str:
    return changed(C1_TORQUE + '"12 N*m"', C1_TORQUE + text)


@pytest.mark.parametrize(
    ("written", "factors", "meant"),
    [
        (
            '"106 N*m"',
            "8.85 times too high or 12 times too high",
            "106 lbf*in (12 N*m) or 8.833 N*m",
        ),
        (
            '"12 lbf*in"',
            "12 times too low or 8.85 times too low",
            "12 lbf*ft (16.3 N*m) or 12 N*m (12 N*m)",
        ),
        ('"1 N*m"', "12 times too low or 8.85 times too low", "12 N*m (12 N*m) or 8.851 N*m"),
        (
            '"144 N*m"',
            "8.85 times too high or 12 times too high",
            "144 lbf*in (16.3 N*m) or 12 N*m (12 N*m)",
        ),
        (
            '"50 N*m"',
            "8.85 times too high or 1.356 times too high or 12 times too high",
            "50 lbf*in (5.65 N*m) or 36.88 N*m (36.9 N*m) or 4.167 N*m (4.17 N*m)",
        ),
    ],
)
def test_an_implausible_torque_is_named_as_a_probable_slip_of_unit(
    written: str, factors: str, meant: str
) -> None:
    text = with_torque(written)
    found = finding(text, "unit-slip")
    assert (found.level, found.subject) == ("stop", "clamp C1")
    assert found.message.endswith(f"probably a slip of unit, {factors}")
    assert found.fix.startswith(f"write {meant}")
    assert "giving it in two units" in found.fix
    assert found.line == line_of(text, f"torque = {written}")


def test_a_usual_torque_is_no_slip() -> None:
    assert "unit-slip" not in codes(BASE)


# A published fixture-plate table printed 21 in·lb beside 28.5 N·m for a 3/8 screw: it is 21 ft·lb.
def test_the_published_slip_of_twelve_is_found() -> None:
    thread = THREADS["3/8-16"]
    slip = probable_slips(parse("21 lbf*in", "torque"), thread)[0]
    assert (slip.meant, slip.factor) == ("21 lbf*ft", "12 times too low")
    assert slip.meant_nm == pytest.approx(28.5, abs=0.05)
    low, high = band_nm(thread)
    assert 2.37 < low < 28.5 < high


def test_a_light_torque_given_in_two_units_that_agree_is_only_remarked() -> None:
    text = with_torque('["2 N*m", "17.7 lbf*in"]').replace("[0.3, 0.7, 1.0]", "[1.0]")
    light = stores(tools={"T-08": tool("T-08", "N*m", 1, 9)})
    found = finding(text, "torque-unusual", light)
    assert found.level == "advice"
    assert "outside the usual" in found.message


def test_a_torque_no_tool_reaches_in_all_passes_is_refused() -> None:
    text = changed("passes = [0.3, 0.7, 1.0]", "passes = [0.1, 1.0]")
    found = [each for each in read(text).findings if each.code == "no-tool"]
    assert [each.subject for each in found] == ["clamp C1", "clamp C2"]
    assert "covers all passes of C1, 1.2 to 12 N*m" in found[0].message
    assert "T-05 3.39 to 16.9 N*m" in found[0].message
    assert "raise" in found[0].fix or "lowest pass" in found[0].fix
    assert "no-tool" not in codes(changed("passes = [0.3, 0.7, 1.0]", "passes = [0.25, 1.0]"))


def test_clamps_that_need_two_different_tools_are_refused() -> None:
    held = stores(tools={"T-1": tool("T-1", "N*m", 3, 8), "T-2": tool("T-2", "N*m", 3.5, 15)})
    text = (
        changed('finish_torque = "6 N*m"\n', "")
        .replace(C1_TORQUE + '"12 N*m"', C1_TORQUE + '"8 N*m"')
        .replace("[0.3, 0.7, 1.0]", "[0.4, 1.0]")
    )
    found = finding(text, "no-tool", held)
    assert found.subject == "tightening"
    assert "no single torque tool covers all torques, 3.2 to 12 N*m" in found.message
    assert found.line == line_of(text, "passes =")


def test_a_withdrawn_tool_covers_nothing() -> None:
    held = stores(
        tools={
            "T-03": tool("T-03", "N*m", 3, 15, state="withdrawn"),
            "T-1": tool("T-1", "N*m", 30, 90),
        }
    )
    assert "no-tool" in codes(BASE, held)
    assert "no-tool" not in codes(BASE)


@pytest.mark.parametrize(
    ("kind", "says"),
    [("tools", "no torque tool"), ("indicators", "no indicator"), ("materials", "no material")],
)
def test_an_empty_register_is_said_and_stops_nothing(kind: str, says: str) -> None:
    found = finding(BASE, "nothing-to-check-against", stores(**{kind: {}}))
    assert found.level == "advice"
    assert says in found.message


# 5.3 mm of M8 in the plate leave 3.4 full threads; at 276 MPa they strip long before a 12.9 screw yields.
def test_the_thread_in_the_plate_can_be_the_least_limit() -> None:
    text = changed('kind = "cone"', 'kind = "twin"').replace(
        'engagement = "14 mm"', 'engagement = "5.3 mm"'
    )
    text = text.replace('torque = "15 N*m", force', 'torque = "40 N*m", force')
    found = [each for each in read(text).findings if each.code == "torque-above-cap"]
    assert "the thread in the plate, 5.3 mm engaged in 6061-T6" in found[0].message
    stronger = text.replace('engagement = "5.3 mm"', 'engagement = "14 mm"')
    assert "torque-above-cap" not in codes(stronger)


def test_the_screw_can_be_the_least_limit() -> None:
    text = changed('kind = "cone"', 'kind = "twin"').replace(
        'strength = "12.9"', 'strength = "8.8"'
    )
    text = text.replace('torque = "15 N*m", force', 'torque = "60 N*m", force').replace(
        "6061-T6", "7075-T651"
    )
    text = text.replace(C1_TORQUE + '"12 N*m"', C1_TORQUE + '"25 N*m"')
    found = finding(text, "torque-above-cap")
    assert "the screw, M8 8.8 at 90 % of yield" in found.message
    assert "torque-above-cap" not in codes(text.replace('"8.8"', '"12.9"'))


def test_a_measured_clamp_is_told_when_its_torque_was_not_measured() -> None:
    spec = 'force = [["5 N*m", "2.6 kN"], ["10 N*m", "5.4 kN"]]\nscatter = "15 %"'
    text = changed('kind = "cone"', f'kind = "measured"\n{spec}')
    found = [each for each in read(text).findings if each.code == "outside-measured"]
    assert "12 N*m lies outside the measured range of m8-taper, 5 N*m to 10 N*m" in found[0].message
    assert "outside-measured" not in codes(text.replace('["10 N*m"', '["12 N*m"'))


def test_measured_forces_rise_with_the_torque() -> None:
    spec = 'force = [["5 N*m", "2.6 kN"], ["10 N*m", "2.4 kN"]]\nscatter = "15 %"'
    text = changed('kind = "cone"', f'kind = "measured"\n{spec}')
    found = finding(text, "incomplete-spec")
    assert "do not rise with the torque" in found.message
    assert found.line == line_of(text, "force = [[")
