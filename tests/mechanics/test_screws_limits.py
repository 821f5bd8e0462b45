"""How far a screw and the thread in the plate may go."""

from __future__ import annotations

import math

import numpy as np
import pytest

from api.mechanics.screws.geometry import mean_bearing_m
from api.mechanics.screws.limits import proof_share, tension_at_yield_n, torque_at_yield_nm
from api.mechanics.screws.sizes import THREADS
from api.mechanics.screws.stripping import full_threads, least_engagement_m, strip_tension_n
from api.mechanics.screws.taper import slide_angle_rad, tapered_arm_m
from api.mechanics.screws.tension import tension_n, thread_arm_m, torque_nm
from api.mechanics.screws.values import ImpossibleInput
from tests.mechanics.forms.screws import tension_by_nut_factor_n, von_mises_pa

M8 = THREADS["M8"]


# Worked example: M8, 20 N·m, friction 0.12: 401.0 MPa of tension, 492.4 MPa with torsion.
def test_torsion_adds_to_the_stress_of_tension() -> None:
    tension = tension_n(M8, 20, 0.12, 0.12)
    assert tension / M8.stress_area_m2 / 1e6 == pytest.approx(401.0172311366422, rel=1e-12)
    stress = von_mises_pa(M8, tension, tension * thread_arm_m(M8, 0.12))
    assert float(f"{stress / 1e6:.4g}") == 492.4
    assert von_mises_pa(M8, tension, 0.0) == pytest.approx(tension / M8.stress_area_m2)


# M8 8.8, friction 0.12: 18 630 N at 90 % of yield; 24.57 N·m under a hexagon head, washer face
# 11.63 mm on a hole of 9 (bearing diameter 10.315, often printed 10.3). Tables: 18.6 kN, 24.6 N·m.
def test_an_m8_screw_at_90_percent_of_yield() -> None:
    assert float(f"{tension_at_yield_n(M8, '8.8', 0.12):.4g}") == 18630
    torque = torque_at_yield_nm(M8, "8.8", 0.12, mean_bearing_m(11.63e-3, 9e-3))
    assert torque == pytest.approx(24.57300767500806, rel=1e-12)


def test_less_friction_lets_a_screw_carry_more_before_it_yields() -> None:
    tensions = tension_at_yield_n(M8, "12.9", np.array([0.0, 0.08, 0.12, 0.3]))
    assert isinstance(tensions, np.ndarray) and (np.diff(tensions) < 0).all()
    area_m2 = math.pi / 4 * M8.d0_m**2
    assert tensions[0] < 0.9 * 1100e6 * area_m2


# The four charts for M12 10.9 print 105, 120, 123 and 136 N·m: the same screw at other frictions.
def test_charts_of_one_screw_differ_by_their_friction() -> None:
    torques = torque_at_yield_nm(THREADS["M12"], "10.9", np.array([0.08, 0.16]))
    assert isinstance(torques, np.ndarray)
    assert torques[0] < 105 < 120 < 123 < 136 < torques[1]


# Shop case: M12 8.8 at 82.1 N·m: 45.6 kN at K 0.15 is 93 % of proof and not over; 22.8 kN at 0.30.
def test_the_share_of_proof_depends_on_the_nut_factor() -> None:
    thread = THREADS["M12"]
    tensions = tension_by_nut_factor_n(12e-3, 82.1, np.array([0.15, 0.30]))
    shares = proof_share(thread, "8.8", tensions)
    assert np.asarray(tensions) / 1e3 == pytest.approx([45.6, 22.8], abs=0.05)
    assert np.asarray(shares) == pytest.approx([0.93, 0.47], abs=5e-3)


# Working torques published for aluminium plates: 61 and 24.5 N·m for M12 at 1.0 and 0.5 d of
# engagement, 8.5 N·m for M6 at 1.0 d, at a nut factor of 0.2.
@pytest.mark.parametrize(
    ("name", "engagement_mm", "published_nm"), [("M12", 12, 61), ("M12", 6, 24.5), ("M6", 6, 8.5)]
)
def test_stripping_limits_agree_with_published_working_torques(
    name: str, engagement_mm: float, published_nm: float
) -> None:
    thread = THREADS[name]
    tension = strip_tension_n(thread, engagement_mm / 1e3, 276e6)
    assert 0.2 * thread.d_m * tension == pytest.approx(published_nm, rel=0.2)


def test_engagement_counts_full_threads_only() -> None:
    assert full_threads(M8, 14.0e-3) == pytest.approx(10.4)
    assert full_threads(M8, 0.5e-3) == 0
    assert strip_tension_n(M8, 0.5e-3, 276e6) == 0
    assert full_threads(M8, least_engagement_m(M8)) == pytest.approx(3)


def test_an_impossible_engagement_or_plate_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="engaged length"):
        strip_tension_n(M8, -1e-3, 276e6)
    with pytest.raises(ImpossibleInput, match="yield stress of the plate"):
        strip_tension_n(M8, 14e-3, math.nan)


# Worked value: M10 cone of 10 degrees at a contact radius of 7 mm slides 1.983 degrees off its circle.
def test_a_turning_cone_slides_almost_along_its_circle() -> None:
    psi = slide_angle_rad(THREADS["M10"], math.radians(10), 7e-3)
    assert np.degrees(psi) == pytest.approx(1.9834031536936256, rel=1e-12)


def test_a_cone_without_friction_takes_no_torque_beyond_the_thread() -> None:
    thread = THREADS["M10"]
    arm = tapered_arm_m(thread, math.radians(10), 7e-3, 0.0, 0.0)
    assert arm == pytest.approx(thread.pitch_m / (2 * math.pi))


def test_a_cone_takes_more_torque_than_a_flat_head() -> None:
    thread = THREADS["M10"]
    assert tapered_arm_m(thread, math.radians(10), 7e-3, 0.12, 0.12) * 4469 > torque_nm(
        thread, 4469, 0.12, 0.12
    )


@pytest.mark.parametrize(("angle_deg", "radius"), [(0, 7e-3), (90, 7e-3), (math.nan, 7e-3)])
def test_a_cone_of_an_impossible_angle_is_refused(angle_deg: float, radius: float) -> None:
    with pytest.raises(ImpossibleInput, match="between 0 and 90 degrees"):
        slide_angle_rad(M8, math.radians(angle_deg), radius)


def test_a_cone_without_a_radius_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="contact radius"):
        slide_angle_rad(M8, math.radians(10), 0.0)
