"""Cone, wedge and twin: worked values to four digits."""

from __future__ import annotations

import math

import numpy as np
import pytest

from api.mechanics.screws.sizes import THREADS
from api.mechanics.screws.tension import thread_arm_m
from api.mechanics.screws.values import Values
from api.mechanics.side_force.cone import Cone
from api.mechanics.side_force.forces import Frictions
from api.mechanics.side_force.twin import Twin
from api.mechanics.side_force.wedge import Wedge
from tests.mechanics.forms.screws import efficiency

M10, M12 = THREADS["M10"], THREADS["M12"]
USUAL = Frictions.same(0.12, base=0.15)
WEDGE = Wedge(M12, math.radians(15))
TWIN = Twin(M12, math.radians(15))


def cone(half_angle_deg: float) -> Cone:
    return Cone(M10, math.radians(half_angle_deg), 7e-3)


def four(value: Values) -> float:
    return float(f"{float(value):.4g}")


def sliding_wedge_n(tension_n: float) -> float:
    """What a wedge that does not turn would give at 10 degrees, friction 0.12, base 0.15."""
    steep = math.radians(10) + math.atan(0.12)
    return tension_n / 2 * (1 / math.tan(steep) - 0.15)


# Worked cone: M10, 25 N·m, 10 degrees, contact radius 7 mm, friction 0.12, base 0.15.
def test_a_cone_at_25_newton_metres() -> None:
    device = cone(10)
    force = device.side_force(25, USUAL)
    assert force.screw_n == pytest.approx(4469.352303379062, rel=1e-12)
    assert four(force.side_n) == 12040
    normal = force.screw_n / device.tension_per_normal(USUAL)
    assert normal == pytest.approx(12572.846621244726, rel=1e-12)
    assert 100 * efficiency(device, 25, USUAL) == pytest.approx(4.053768087693068, rel=1e-12)


def test_most_of_the_torque_of_a_cone_goes_into_its_friction() -> None:
    tension = cone(10).side_force(25, USUAL).screw_n
    assert tension is not None
    in_thread = tension * thread_arm_m(M10, 0.12)
    assert in_thread == pytest.approx(3.8902722135488124, rel=1e-12)
    assert 25 - in_thread == pytest.approx(21.109727786451188, rel=1e-12)


# All four frictions 0.20, the base included.
def test_a_dry_cone_gives_60_percent_of_a_greased_one() -> None:
    assert four(cone(10).side_force(25, Frictions.same(0.20)).side_n) == 7252


@pytest.mark.parametrize(
    ("half_angle_deg", "printed"),
    [(5, 13360), (10, 12040), (15, 10830), (20, 9712), (30, 7707), (41, 5766), (45, 5112)],
)
def test_a_blunter_cone_gives_less_side_force(half_angle_deg: float, printed: float) -> None:
    assert four(cone(half_angle_deg).side_force(25, USUAL).side_n) == printed


@pytest.mark.parametrize(
    ("half_angle_deg", "exact"),
    [
        (5, 13359.943402694757),
        (15, 10827.656141569412),
        (20, 9711.991414497868),
        (30, 7707.097129974304),
        (45, 5112.400094531371),
    ],
)
def test_many_cones_at_once_give_what_each_gives_alone(half_angle_deg: float, exact: float) -> None:
    many = Cone(M10, np.radians([8.0, half_angle_deg]), np.array([6e-3, 7e-3]))
    sides = many.side_force(np.array([20.0, 25.0]), USUAL).side_n
    assert isinstance(sides, np.ndarray)
    assert sides[1] == pytest.approx(exact, rel=1e-12)
    alone = Cone(M10, math.radians(8), 6e-3).side_force(20, USUAL).side_n
    assert sides[0] == pytest.approx(alone, rel=1e-12)


# The two usual errors: a sliding wedge at the same tension, and no torque counted for the cone.
def test_a_turning_cone_is_no_sliding_wedge() -> None:
    force = cone(10).side_force(25, USUAL)
    assert force.screw_n is not None
    too_low = sliding_wedge_n(float(force.screw_n))
    too_high = sliding_wedge_n(25 / float(thread_arm_m(M10, 0.12)))
    assert too_low == pytest.approx(7046.48249484743, rel=1e-12)
    assert too_high == pytest.approx(45282.708433013715, rel=1e-12)
    assert too_low < 0.6 * force.side_n
    assert too_high / force.side_n == pytest.approx(3.8, abs=0.05)


# Worked wedge: M12, 60 N·m, 15 degrees, friction 0.12, base 0.15.
def test_a_wedge_at_60_newton_metres() -> None:
    force = WEDGE.side_force(60, USUAL)
    assert force.screw_n == pytest.approx(30249.03236344535, rel=1e-12)
    assert force.side_n == pytest.approx(35463.59329194174, rel=1e-12)
    assert force.side_n / 60 == pytest.approx(591.0598881990289, rel=1e-12)
    assert 100 * WEDGE.wedge_efficiency(USUAL) == pytest.approx(62.828067153413215, rel=1e-12)
    ideal = WEDGE.gain(Frictions(0.12, 0.12, 0.0, 0.0)) * force.screw_n
    assert four(ideal) == 56450
    assert ideal == pytest.approx(force.screw_n / (2 * math.tan(math.radians(15))))


def test_two_wedges_give_more_than_twice_one_that_rubs_on_its_base() -> None:
    assert TWIN.side_force(60, USUAL).side_n == pytest.approx(75464.54143840028, rel=1e-12)
    no_base = Frictions.same(0.12, base=0.0)
    one, two = WEDGE.side_force(60, no_base).side_n, TWIN.side_force(60, no_base).side_n
    assert two == pytest.approx(2 * one)
    assert TWIN.side_force(60, USUAL).side_n == two


# Thread, head and wedge at one friction; the base stays at 0.15.
@pytest.mark.parametrize(
    ("mu", "printed"), [(0.08, 56490), (0.12, 35460), (0.16, 24510), (0.20, 17970), (0.25, 12890)]
)
def test_friction_enters_a_wedge_three_times(mu: float, printed: float) -> None:
    assert four(WEDGE.side_force(60, Frictions.same(mu, base=0.15)).side_n) == printed


def test_half_the_friction_gives_two_and_a_half_times_the_side_force() -> None:
    mu = np.array([0.10, 0.20])
    sides = WEDGE.side_force(60, Frictions.same(mu, base=np.array([0.15, 0.15]))).side_n
    assert isinstance(sides, np.ndarray)
    assert sides[0] / sides[1] == pytest.approx(2.4523455241644494, rel=1e-12)


# At 15 degrees and friction 0.12 two thirds of the tension can go before the side force falls.
def test_a_screw_loses_most_of_its_tension_before_the_side_force_falls() -> None:
    assert four(TWIN.held_share(USUAL)) == 0.3576
    assert WEDGE.held_share(USUAL) == pytest.approx(0.32902627055407174, rel=1e-12)


def test_a_wedge_flatter_than_its_friction_angle_holds_with_a_slack_screw() -> None:
    limit = math.atan(0.12)
    assert math.degrees(limit) == pytest.approx(6.84277341263094, rel=1e-12)
    for kind in (Wedge, Twin):
        assert kind(M12, 0.999 * limit).held_share(USUAL) == 0
        assert 0 < kind(M12, 1.001 * limit).held_share(USUAL) < 0.01


def test_a_wedge_without_friction_gives_back_at_once() -> None:
    none = Frictions.same(0.0)
    assert WEDGE.held_share(none) == pytest.approx(1)
    assert TWIN.held_share(none) == pytest.approx(1)


def test_backing_off_to_the_held_share_keeps_the_side_force() -> None:
    """On the way back all frictions push the other way: S = (F/2)[cot(alpha - rho) + mu_base]."""
    force = WEDGE.side_force(60, USUAL)
    assert force.screw_n is not None
    left = force.screw_n * WEDGE.held_share(USUAL)
    back = left / 2 * (1 / math.tan(math.radians(15) - math.atan(0.12)) + 0.15)
    assert back == pytest.approx(force.side_n)


def test_a_jaw_travels_by_the_pitch_and_the_angle() -> None:
    tan_15 = math.tan(math.radians(15))
    assert WEDGE.travel_per_turn_m() == pytest.approx(1.75e-3 * tan_15)
    assert TWIN.travel_per_turn_m() == pytest.approx(1.75e-3 * tan_15 / 2)
    assert cone(10).travel_per_turn_m() == pytest.approx(1.5e-3 * math.tan(math.radians(10)))


# Jaws of 400 N/mm with a gap of 0.5 mm.
@pytest.mark.parametrize(
    ("plain", "slotted"),
    [
        (cone(10), Cone(M10, math.radians(10), 7e-3, slot_n=400e3 * 0.5e-3)),
        (WEDGE, Wedge(M12, math.radians(15), slot_n=400e3 * 0.5e-3)),
        (TWIN, Twin(M12, math.radians(15), slot_n=400e3 * 0.5e-3)),
    ],
)
def test_slotted_jaws_are_bent_before_they_press(
    plain: Cone | Wedge | Twin, slotted: Cone | Wedge | Twin
) -> None:
    whole = plain.side_force(20, USUAL)
    less = slotted.side_force(20, USUAL)
    assert less.side_n == pytest.approx(whole.side_n - 200)
    assert less.screw_n == whole.screw_n
    touch = slotted.torque_nm(0.0, USUAL)
    assert slotted.side_force(touch, USUAL).side_n == pytest.approx(0, abs=1e-9)
    assert slotted.side_force(0.5 * touch, USUAL).side_n == 0
    assert efficiency(slotted, 20, USUAL) < efficiency(plain, 20, USUAL)
