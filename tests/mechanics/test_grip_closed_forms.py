"""Closed forms of a two-sided grip, Hertz contact, probability and friction: worked values."""

from math import atan, degrees, radians, tan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.mechanics.grip.contacts import GripError
from api.mechanics.grip.friction import FACES, HARD_PART_PA, ON_PLATE, face_friction
from api.mechanics.grip.hertz import contact_modulus_pa, line_contact
from api.mechanics.grip.probability import any_of, factor_for, reliability_index, slip_probability
from api.mechanics.grip.two_sided import (
    plate_friction_n,
    round_torsion_nm,
    slip_hold_n,
    slip_share,
    squeeze_m,
    stop_opens_at_n,
    strip_limit_moment_nm,
    strip_opening_moment_nm,
    tipping_moment_nm,
    vee_normal_n,
)
from api.mechanics.grip.undercut import (
    draft_limit_rad,
    flat_down_force,
    is_squeezed_out,
    round_down_force,
)

FOUR_DIGITS = 5e-5
SIDE_N = 8000.0


@pytest.mark.parametrize(
    ("friction", "least_n", "most_n"),
    [
        (0.08, 59.4929118, 1349.35356),
        (0.12, -257.4, 1677.52100),
        (0.20, -884.611988, 2340.86921),
        (0.35, -2038, 3610.46549),
    ],
)
def test_an_undercut_face_pulls_round_stock_down_within_the_worked_range(
    friction: float, least_n: float, most_n: float
) -> None:
    down = round_down_force(SIDE_N, radians(5), friction)
    assert down.frictionless_n == pytest.approx(699.909308, rel=1e-8)
    assert down.least_n == pytest.approx(least_n, rel=2.5e-4)
    assert down.most_n == pytest.approx(most_n, rel=1e-8)


def test_friction_above_the_undercut_makes_the_guaranteed_down_force_negative() -> None:
    assert round_down_force(SIDE_N, radians(5), 0.08).least_n > 0
    assert round_down_force(SIDE_N, radians(5), 0.12).least_n < 0


def test_an_undercut_does_not_pull_flat_stock_down() -> None:
    down = flat_down_force(SIDE_N, 0.12)
    assert (down.least_n, down.frictionless_n, down.most_n) == (-960, 0, 960)


def test_an_undercut_that_friction_turns_over_is_refused() -> None:
    with pytest.raises(GripError, match="90 deg"):
        round_down_force(SIDE_N, radians(60), 1.0)


def test_two_faces_slip_at_the_worked_force_with_and_without_the_plate() -> None:
    hold = slip_hold_n(0.20, SIDE_N)
    assert hold == pytest.approx(3200.0)
    assert hold + plate_friction_n(0.15, 500, 12) == pytest.approx(3277, rel=1e-4)
    share = slip_share(1800, 600, 0, hold)
    assert share == pytest.approx(0.592927061, rel=1e-8)
    assert 1 / share == pytest.approx(1.68654809, rel=1e-8)


def test_a_pull_off_the_plate_leaves_no_plate_friction() -> None:
    assert plate_friction_n(0.15, -20, 12) == 0


def test_opening_tipping_and_strip_moments_have_their_worked_values() -> None:
    assert stop_opens_at_n(SIDE_N, 0.25, 1.0) == pytest.approx(10_000)
    assert tipping_moment_nm(0.20, SIDE_N, 0.050, 12) == pytest.approx(80.30, rel=1e-9)
    assert strip_opening_moment_nm(SIDE_N, 3e-3) == pytest.approx(4.000)
    assert strip_opening_moment_nm(SIDE_N, 3e-3) / 0.040 == pytest.approx(100.0)
    assert strip_limit_moment_nm(SIDE_N, 3e-3) == pytest.approx(12.0)


def test_a_round_between_flats_and_in_a_vee_has_its_worked_values() -> None:
    assert round_torsion_nm(0.2, SIDE_N, 25e-3) == pytest.approx(40.0)
    assert vee_normal_n(1.0, np.pi / 2) == pytest.approx(1.41421356)
    assert vee_normal_n(1.0, np.pi) == pytest.approx(1.0)
    with pytest.raises(GripError, match="V"):
        vee_normal_n(1.0, 0.0)


def test_a_bar_under_a_narrow_face_has_the_worked_pressure_and_yields_inside() -> None:
    modulus = contact_modulus_pa((68.9e9, 205e9), (0.33, 0.29))
    contact = line_contact(SIDE_N / 20e-3, 12.5e-3, modulus, 276e6)
    assert modulus / 1e6 == pytest.approx(57467.8247, rel=1e-8)
    assert contact.pressure_pa / 1e6 == pytest.approx(765.089835, rel=1e-8)
    assert contact.half_width_m * 1e3 == pytest.approx(0.332833998, rel=1e-8)
    assert contact.yields_at_pa / 1e6 == pytest.approx(494.0, rel=1e-4)
    assert contact.yields
    assert not line_contact(SIDE_N / 20e-3 / 3, 12.5e-3, modulus, 276e6).yields


def test_a_line_contact_carries_its_force_by_its_pressure() -> None:
    contact = line_contact(4e5, 12.5e-3, 57e9, 276e6)
    elliptic = np.pi / 2 * contact.pressure_pa * contact.half_width_m
    assert elliptic == pytest.approx(4e5, rel=1e-12)


def test_a_squeezed_block_is_shortened_by_the_worked_amount() -> None:
    shortened = squeeze_m(SIDE_N, 60e-3, 40e-3 * 25e-3, 68.9e9)
    assert shortened * 1e6 == pytest.approx(6.96661829, rel=1e-8)


@pytest.mark.parametrize(
    ("factor", "index", "probability"),
    [
        (1.5, 1.283, 0.0997134673),
        (2.0, 2.19368362, 0.0141313379),
        (2.5, 2.900, 0.0018669501),
        (3.0, 3.47680684, 0.00025371162),
    ],
)
def test_a_safety_factor_has_its_worked_probability_of_slip(
    factor: float, index: float, probability: float
) -> None:
    assert reliability_index(factor, 0.25, 0.20) == pytest.approx(index, rel=4e-4)
    assert slip_probability(factor, 0.25, 0.20) == pytest.approx(probability, rel=1e-7)


def test_one_slip_in_ten_thousand_needs_the_worked_factor() -> None:
    assert factor_for(1e-4, 0.25, 0.20) == pytest.approx(3.239, rel=2e-4)
    assert any_of(1e-4, 8) == pytest.approx(8e-4)
    assert any_of(0.5, 8) == 1


@given(st.floats(1e-6, 0.5), st.floats(0.01, 0.6), st.floats(0.0, 0.6))
def test_the_factor_for_a_probability_gives_that_probability_back(
    probability: float, hold: float, load: float
) -> None:
    factor = factor_for(probability, hold, load)
    assert slip_probability(factor, hold, load) == pytest.approx(probability, rel=1e-6)


def test_the_probability_agrees_with_a_drawn_sample() -> None:
    rng = np.random.default_rng(11)
    sigma_hold, sigma_load = np.sqrt(np.log1p([0.25**2, 0.20**2]))
    hold = 2.0 * np.exp(sigma_hold * rng.standard_normal(400_000))
    load = np.exp(sigma_load * rng.standard_normal(400_000))
    assert float((load > hold).mean()) == pytest.approx(slip_probability(2, 0.25, 0.20), rel=0.05)


def test_a_probability_needs_scatter_and_a_value_between_0_and_1() -> None:
    with pytest.raises(GripError, match="spread"):
        slip_probability(2, 0, 0)
    with pytest.raises(GripError, match="between 0 and 1"):
        factor_for(1.0, 0.25, 0.2)


@pytest.mark.parametrize(("friction", "limit_deg"), [(0.15, 8.5), (0.10, 5.7)])
def test_the_largest_draft_a_face_holds_is_its_friction_angle(
    friction: float, limit_deg: float
) -> None:
    assert degrees(draft_limit_rad(friction)) == pytest.approx(limit_deg, rel=0.01)


def test_a_draft_of_15_degrees_stays_at_high_friction_and_is_squeezed_out_at_low() -> None:
    assert tan(radians(15)) == pytest.approx(0.268, rel=1e-3)
    assert not is_squeezed_out(radians(15), 0.5)
    assert is_squeezed_out(radians(15), 0.15)
    assert atan(0.268) == pytest.approx(draft_limit_rad(0.268))


def test_friction_bands_hold_95_of_100_surfaces_around_their_median() -> None:
    for surface in (*FACES.values(), ON_PLATE):
        assert surface.low < surface.usual < surface.high
        assert surface.low * surface.high == pytest.approx(surface.median**2)
        assert np.log(surface.high / surface.median) / surface.sigma == pytest.approx(
            1.96, rel=1e-4
        )
        assert surface.source
    smooth = FACES["smooth"]
    assert (round(smooth.low, 3), round(smooth.high, 3)) == (0.074, 0.196)


def test_serrations_do_not_count_on_a_part_too_hard_for_them() -> None:
    assert face_friction("coarse", 310e6) is FACES["coarse"]
    assert face_friction("coarse") is FACES["coarse"]
    assert face_friction("coarse", HARD_PART_PA + 1) is FACES["smooth"]
