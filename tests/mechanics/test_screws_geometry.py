"""Thread sizes: every row of the table, and the limits of what a thread can be."""

from __future__ import annotations

import math

import numpy as np
import pytest

from api.mechanics.screws.geometry import Thread, mean_bearing_m
from api.mechanics.screws.limits import proof_load_n
from api.mechanics.screws.sizes import THREADS
from api.mechanics.screws.strength_classes import KSI_PA, proof_pa, tensile_pa, yield_pa
from api.mechanics.screws.values import ImpossibleInput
from tests.mechanics.forms.screws import uniform_bearing_m

LBF_N, INCH_MM = 4.4482216152605, 25.4

# pitch, d2 mm, lead deg, As mm2, proof kN of 8.8, 10.9 and 12.9, bearing diameter mm
METRIC = {
    "M4": (0.70, 3.545, 3.596, 8.78, 5.09, 7.29, 8.52, 5.75),
    "M5": (0.80, 4.480, 3.253, 14.18, 8.23, 11.77, 13.76, 7.00),
    "M6": (1.00, 5.350, 3.405, 20.12, 11.67, 16.70, 19.52, 8.30),
    "M8": (1.25, 7.188, 3.168, 36.61, 21.23, 30.39, 35.51, 11.00),
    "M8x1": (1.00, 7.350, 2.480, 39.17, 22.72, 32.51, 37.99, 11.00),
    "M10": (1.50, 9.026, 3.028, 57.99, 33.63, 48.13, 56.25, 13.50),
    "M10x1.25": (1.25, 9.188, 2.480, 61.20, 35.50, 50.79, 59.36, 13.50),
    "M12": (1.75, 10.863, 2.935, 84.27, 48.87, 69.94, 81.74, 15.75),
    "M12x1.25": (1.25, 11.188, 2.037, 92.07, 53.40, 76.42, 89.31, 15.75),
    "M14": (2.00, 12.701, 2.869, 115.4, 66.95, 95.81, 112.0, 18.25),
    "M16": (2.00, 14.701, 2.480, 156.7, 90.87, 130.0, 152.0, 20.75),
    "M20": (2.50, 18.376, 2.480, 244.8, 146.9, 203.2, 237.5, 26.00),
}
# pitch mm, d2 mm, lead deg, As mm2, As in2, proof A574 kN (of 965 and 931 MPa, rounded from ksi), lbf
INCH = {
    "8-32": (0.794, 3.650, 3.960, 9.04, 0.01401, 8.72, 1961),
    "10-24": (1.058, 4.139, 4.654, 11.31, 0.01753, 10.92, 2454),
    "10-32": (0.794, 4.310, 3.355, 12.90, 0.01999, 12.45, 2799),
    "1/4-20": (1.270, 5.525, 4.185, 20.53, 0.03182, 19.82, 4455),
    "1/4-28": (0.907, 5.761, 2.869, 23.47, 0.03637, 22.65, 5092),
    "5/16-18": (1.411, 7.021, 3.661, 33.83, 0.05243, 32.65, 7340),
    "5/16-24": (1.058, 7.250, 2.660, 37.46, 0.05807, 36.16, 8129),
    "3/8-16": (1.588, 8.494, 3.405, 49.99, 0.07749, 48.26, 10849),
    "3/8-24": (1.058, 8.838, 2.183, 56.66, 0.08783, 54.70, 12296),
    "7/16-14": (1.814, 9.934, 3.327, 68.59, 0.1063, 66.20, 14883),
    "1/2-13": (1.954, 11.431, 3.114, 91.55, 0.1419, 88.37, 19866),
    "1/2-20": (1.270, 11.875, 1.950, 103.2, 0.1600, 99.61, 22393),
    "5/8-11": (2.309, 14.375, 2.927, 145.8, 0.2260, 135.7, 30510),
    "3/4-10": (2.540, 17.400, 2.660, 215.8, 0.3345, 200.9, 45152),
}
# Proof loads of coarse A574 screws as the standard prints them, lbf.
A574_PRINTED = {
    "10-24": 2450,
    "1/4-20": 4450,
    "5/16-18": 7340,
    "3/8-16": 10800,
    "7/16-14": 14900,
    "1/2-13": 19900,
    "5/8-11": 30500,
    "3/4-10": 45100,
}


def is_printed(value: float, printed: float, unit: float) -> bool:
    """Does the value round to the printed one, whose last digit is worth `unit`?"""
    return abs(value - printed) <= 0.5 * unit * (1 + 1e-6)


def last_digit(printed: float, digits: int) -> float:
    return float(10.0 ** (math.floor(math.log10(printed)) + 1 - digits))


def test_the_table_has_these_sizes_and_no_other() -> None:
    assert set(THREADS) == set(METRIC) | set(INCH)
    assert all(thread.name == name for name, thread in THREADS.items())
    assert {name for name, thread in THREADS.items() if thread.inch} == set(INCH)


@pytest.mark.parametrize("name", METRIC)
def test_a_metric_size_agrees_with_every_column_of_the_table(name: str) -> None:
    thread = THREADS[name]
    pitch, d2, lead, area, low, middle, high, bearing = METRIC[name]
    assert thread.pitch_m * 1e3 == pytest.approx(pitch, rel=1e-12)
    assert is_printed(thread.d2_m * 1e3, d2, 1e-3)
    assert is_printed(math.degrees(thread.lead_angle_rad), lead, 1e-3)
    assert is_printed(thread.stress_area_m2 * 1e6, area, 0.1 if area > 100 else 0.01)
    assert thread.bearing_m * 1e3 == pytest.approx(bearing, rel=1e-12)
    for strength, proof in (("8.8", low), ("10.9", middle), ("12.9", high)):
        assert is_printed(
            proof_load_n(thread, strength) / 1e3, proof, 0.1 if proof > 100 else 0.01
        ), strength


@pytest.mark.parametrize("name", INCH)
def test_an_inch_size_agrees_with_every_column_of_the_table(name: str) -> None:
    thread = THREADS[name]
    pitch, d2, lead, area, area_in, proof_kn, proof_lbf = INCH[name]
    proof_n = proof_load_n(thread, "A574")
    assert is_printed(thread.pitch_m * 1e3, pitch, 1e-3)
    assert is_printed(thread.d2_m * 1e3, d2, 1e-3)
    assert is_printed(math.degrees(thread.lead_angle_rad), lead, 1e-3)
    assert is_printed(thread.stress_area_m2 * 1e6, area, 0.1 if area > 100 else 0.01)
    assert is_printed(thread.stress_area_m2 * 1e6 / INCH_MM**2, area_in, last_digit(area_in, 4))
    assert proof_n / 1e3 == pytest.approx(proof_kn, rel=3e-4, abs=6e-3)
    assert is_printed(proof_n / LBF_N, proof_lbf, 1)


@pytest.mark.parametrize("name", A574_PRINTED)
def test_proof_loads_agree_with_the_printed_standard_to_its_rounding(name: str) -> None:
    proof_lbf = proof_load_n(THREADS[name], "A574") / LBF_N
    assert proof_lbf == pytest.approx(A574_PRINTED[name], rel=5e-3)


# Worked values, not rounded.
def test_m8_to_all_digits() -> None:
    m8 = THREADS["M8"]
    assert m8.d2_m * 1e3 == pytest.approx(7.18810125, rel=1e-12)
    assert m8.stress_area_m2 * 1e6 == pytest.approx(36.60854327376516, rel=1e-12)
    assert proof_load_n(m8, "12.9") == pytest.approx(35510.286975552204, rel=1e-12)
    assert (m8.d2_m + m8.d3_m) / 2 == m8.d0_m


# Worked value: M8 head 13 on hole 9 gives 11.12 mm instead of 11.00, 1.1 % more head torque.
def test_an_even_pressure_acts_on_a_slightly_larger_ring() -> None:
    exact, mean = uniform_bearing_m(13e-3, 9e-3), mean_bearing_m(13e-3, 9e-3)
    assert mean == THREADS["M8"].bearing_m
    assert exact * 1e3 == pytest.approx(11.121212121212121, rel=1e-12)
    assert exact / mean == pytest.approx(1.011, abs=5e-4)


def test_an_even_pressure_is_what_its_integral_says() -> None:
    head, hole = 13e-3, 9e-3
    edges = np.linspace(hole / 2, head / 2, 20001)
    r, dr = (edges[1:] + edges[:-1]) / 2, np.diff(edges)
    mean_radius = float((r * r * dr).sum() / (r * dr).sum())
    assert uniform_bearing_m(head, hole) == pytest.approx(2 * mean_radius, rel=1e-8)


def test_a_narrow_ring_bears_at_its_mean_diameter() -> None:
    assert uniform_bearing_m(10.001e-3, 10e-3) == pytest.approx(10.0005e-3, rel=1e-7)


@pytest.mark.parametrize(("head", "hole"), [(9e-3, 13e-3), (9e-3, 9e-3), (math.nan, 9e-3), (9, -1)])
def test_a_head_no_wider_than_its_hole_is_refused(head: float, hole: float) -> None:
    for bearing in (mean_bearing_m, uniform_bearing_m):
        with pytest.raises(ImpossibleInput, match="wider than its hole"):
            bearing(head, hole)


@pytest.mark.parametrize(
    ("d", "pitch", "bearing", "says"),
    [
        (1e-3, 1e-3, 0.0, "no core"),
        (math.inf, 1e-3, 0.0, "no core"),
        (8e-3, 0.0, 0.0, "pitch"),
        (8e-3, math.nan, 0.0, "pitch"),
        (8e-3, 1e-3, -1e-3, "bearing diameter"),
    ],
)
def test_an_impossible_thread_is_refused(d: float, pitch: float, bearing: float, says: str) -> None:
    with pytest.raises(ImpossibleInput, match=says):
        Thread("odd", d, pitch, bearing)


# Least stresses in MPa up to and above the diameter at which they change: ISO 898-1, ASTM A574.
@pytest.mark.parametrize(
    ("strength", "d_mm", "proof", "yields", "tensile"),
    [
        ("8.8", 16, 580, 640, 800),
        ("8.8", 16.1, 600, 660, 830),
        ("10.9", 12, 830, 940, 1040),
        ("12.9", 12, 970, 1100, 1220),
        ("A574", 12.7, 965, 153 * KSI_PA / 1e6, 180 * KSI_PA / 1e6),
        ("A574", 15.9, 931, 153 * KSI_PA / 1e6, 170 * KSI_PA / 1e6),
    ],
)
def test_a_strength_class_stands_what_its_standard_says(
    strength: str, d_mm: float, proof: float, yields: float, tensile: float
) -> None:
    d_m = d_mm / 1e3
    assert proof_pa(strength, d_m) / 1e6 == pytest.approx(proof, abs=0.5)
    assert yield_pa(strength, d_m) / 1e6 == pytest.approx(yields)
    assert tensile_pa(strength, d_m) / 1e6 == pytest.approx(tensile)


@pytest.mark.parametrize("stress", [proof_pa, yield_pa, tensile_pa])
def test_an_unknown_strength_class_is_no_number(stress: object) -> None:
    assert callable(stress)
    with pytest.raises(ImpossibleInput, match=r"9\.8 is not in the table; write one of 8\.8, "):
        stress("9.8", 8e-3)
