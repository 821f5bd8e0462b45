"""Closed forms of a two-sided grip, Hertz contact and friction: worked values."""

from math import radians

import numpy as np
import pytest

from api.mechanics.grip.contacts import GripError
from api.mechanics.grip.friction import FACES, HARD_PART_PA, ON_PLATE, face_friction
from api.mechanics.grip.hertz import contact_modulus_pa, line_contact
from api.mechanics.grip.squeeze import squeeze_m
from api.mechanics.grip.undercut import (
    flat_down_force,
    round_down_force,
)
from tests.mechanics.forms.two_sided import (
    plate_friction_n,
    round_torsion_nm,
    slip_hold_n,
    slip_share,
    stop_opens_at_n,
    strip_limit_moment_nm,
    strip_opening_moment_nm,
    tipping_moment_nm,
    vee_normal_n,
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
