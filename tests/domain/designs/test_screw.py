"""Screw and thread: worked values of the formula sheet, to four digits, and their meaning."""

from __future__ import annotations

import math

import pytest

from api.domain.designs.strength import screw
from api.domain.threads import THREADS, proof_mpa, thread_of, yield_mpa

M8 = THREADS["M8"]


def four_digits(value: float) -> float:
    return float(f"{value:.4g}")


# Worked example A1: M8, 20 N·m, friction 0.12 in thread and head, Db 11: F 14 680 N, K 0.1703.
def test_a_headed_m8_screw_at_20_newton_metres() -> None:
    tension = 20 / screw.headed_torque_per_newton_m(M8, 0.12)
    assert four_digits(tension) == 14680
    assert four_digits(20 / (tension * 8e-3)) == 0.1703
    assert four_digits(tension / M8.stress_area_mm2) == 401.0


# The same screw and torque against friction (A2).
@pytest.mark.parametrize(
    ("mu", "tension"),
    [(0.08, 20540), (0.10, 17120), (0.16, 11420), (0.20, 9336), (0.25, 7600), (0.30, 6406)],
)
def test_friction_moves_the_tension_at_one_torque(mu: float, tension: float) -> None:
    assert four_digits(20 / screw.headed_torque_per_newton_m(M8, mu)) == tension


# Check value A4: M8 8.8, friction 0.12: 18 630 N at 90 % of yield with torsion; 24.6 N·m with a bearing
# diameter of 10.3 (published tables print 18.6 kN and 24.6 N·m).
def test_an_m8_screw_at_90_percent_of_yield() -> None:
    assert four_digits(screw.tension_at_90_percent_n(M8, "8.8", 0.12)) == 18630
    torque = screw.tightening_torque_nm(M8, "8.8", 0.12, bearing_mm=10.3)
    assert torque == pytest.approx(24.57, rel=1e-3)


# 1/4-20 at 12 N·m, friction 0.12: 11 000 N, K 0.1718.
def test_an_inch_screw_uses_its_own_head_and_hole() -> None:
    thread = THREADS["1/4-20"]
    tension = 12 / screw.headed_torque_per_newton_m(thread, 0.12)
    assert four_digits(tension) == 11000
    assert four_digits(12 / (tension * thread.d_mm / 1e3)) == 0.1718


# Worked W1: M10 cone, 25 N·m, 10 degrees, contact radius 7, friction 0.12: screw tension 4469 N,
# 3.890 N·m of the torque in the thread.
def test_a_cone_takes_most_of_the_torque() -> None:
    thread = THREADS["M10"]
    tension = 25 / screw.cone_torque_per_newton_m(thread, 0.12, 10, 7)
    assert four_digits(tension) == 4469
    assert four_digits(tension * screw.thread_torque_per_newton_m(thread, 0.12)) == 3.890


# Working torques published for aluminium plates: 61 and 24.5 N·m for M12 at 1.0 and 0.5 d of
# engagement, 8.5 N·m for M6 at 1.0 d, at a nut factor of 0.2.
@pytest.mark.parametrize(
    ("name", "engagement_mm", "torque_nm"), [("M12", 12, 61), ("M12", 6, 24.5), ("M6", 6, 8.5)]
)
def test_stripping_limits_agree_with_published_working_torques(
    name: str, engagement_mm: float, torque_nm: float
) -> None:
    thread = THREADS[name]
    tension = screw.strip_tension_n(thread, engagement_mm, 276)
    assert 0.2 * thread.d_mm / 1e3 * tension == pytest.approx(torque_nm, rel=0.2)


def test_engagement_counts_full_threads_only() -> None:
    assert screw.full_threads(M8, 14.0) == pytest.approx(10.4)
    assert screw.full_threads(M8, 0.5) == 0
    assert screw.strip_tension_n(M8, 0.5, 276) == 0


# Rows of the thread table: pitch diameter, lead angle in degrees, stress area.
@pytest.mark.parametrize(
    ("name", "d2", "lead_deg", "area"),
    [
        ("M4", 3.545, 3.596, 8.78),
        ("M8", 7.188, 3.168, 36.61),
        ("M8x1", 7.350, 2.480, 39.17),
        ("M12x1.25", 11.188, 2.037, 92.07),
        ("M20", 18.376, 2.480, 244.8),
        ("10-32", 4.310, 3.355, 12.90),
        ("5/16-18", 7.021, 3.661, 33.83),
        ("3/4-10", 17.400, 2.660, 215.8),
    ],
)
def test_thread_geometry_agrees_with_the_table(
    name: str, d2: float, lead_deg: float, area: float
) -> None:
    thread = THREADS[name]
    assert thread.d2_mm == pytest.approx(d2, abs=1e-3)
    assert math.degrees(thread.lead_angle_rad) == pytest.approx(lead_deg, abs=1e-3)
    assert four_digits(thread.stress_area_mm2) == pytest.approx(area, rel=1e-3)


# Proof loads in kN of the same table.
@pytest.mark.parametrize(
    ("name", "strength", "proof_kn"),
    [
        ("M8", "12.9", 35.51),
        ("M16", "8.8", 90.87),
        ("M20", "8.8", 146.9),
        ("1/4-20", "A574", 19.82),
    ],
)
def test_proof_loads_agree_with_the_table(name: str, strength: str, proof_kn: float) -> None:
    thread = THREADS[name]
    proof_n = proof_mpa(strength, thread.d_mm) * thread.stress_area_mm2
    assert proof_n / 1e3 == pytest.approx(proof_kn, rel=1e-3)


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("M8", "M8"),
        ("m8", "M8"),
        ("M8x1.25", "M8"),
        ("M8 × 1", "M8x1"),
        ("5/16-18 UNC", "5/16-18"),
        ("#10-32", "10-32"),
    ],
)
def test_a_thread_is_known_by_its_usual_spellings(text: str, name: str) -> None:
    assert thread_of(text) == THREADS[name]


@pytest.mark.parametrize("text", ["", "M7", "M8x0.5", "5/16", "8"])
def test_a_thread_that_is_not_in_the_table_is_none(text: str) -> None:
    assert thread_of(text) is None


def test_an_unknown_strength_class_is_no_number() -> None:
    with pytest.raises(ValueError, match=r"9\.8"):
        yield_mpa("9.8", 8)
    with pytest.raises(ValueError, match=r"9\.8"):
        proof_mpa("9.8", 8)
