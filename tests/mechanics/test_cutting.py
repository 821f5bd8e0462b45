"""Milling force against worked values, independent sums and limits."""

from dataclasses import replace
from math import cos, degrees, pi, radians, sin, tan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from api.mechanics.cutting.kienzle import (
    mean_chip_m,
    mean_tooth_n,
    mean_total_n,
    runout_feed_factor,
    specific_force_pa,
    tangential_n,
    teeth_in_cut,
)
from api.mechanics.cutting.mills import CutError, MillCut, arc_of
from api.mechanics.cutting.power_integrals import sine_power_cosine_integral, sine_power_integral
from api.mechanics.cutting.tooth_sum import tooth_sum
from tests.mechanics.forms.milling import (
    cutting_power_w,
    feed_per_tooth_m,
    feed_speed_m_s,
    integrated_mean_total_n,
    mean_specific_force_pa,
    peak_tooth_n,
    removal_rate_m3_s,
    spindle_speed_per_s,
    thickest_chip_m,
)

FOUR_DIGITS = 5e-5

SIDE = MillCut("side", 16e-3, 4, 12e-3, 4e-3, 0.08e-3, pi / 2, 800e6, 0.25)
FACE = MillCut("face", 50e-3, 5, 2e-3, 35e-3, 0.2e-3, pi / 4, 1675e6, 0.24, worn=1.3)
SLOT = MillCut("slot", 12e-3, 4, 12e-3, 12e-3, 0.05e-3, pi / 2, 2150e6, 0.20, worn=1.3)
HELIX_RAD = radians(38)


def sliced_peak(cut: MillCut, slices: int, angles: int, helix_rad: float) -> float:
    """Peak of the tooth sum by adding straight slices one after the other."""
    arc = arc_of(cut)
    turn = np.linspace(0, 2 * pi / cut.teeth, angles)
    total = np.zeros(angles)
    slice_n = cut.worn * cut.kc11_pa * cut.depth_m / sin(cut.lead_rad) / slices
    for height_m in (np.arange(slices) + 0.5) / slices * cut.depth_m:
        for tooth in range(cut.teeth):
            lag = 2 * height_m * tan(helix_rad) / cut.diameter_m
            angle = (turn + 2 * pi * tooth / cut.teeth - lag) % (2 * pi)
            inside = (angle >= arc.entry_rad) & (angle <= arc.exit_rad)
            chip_m = np.where(inside, cut.feed_m * sin(cut.lead_rad) * np.sin(angle), 0).clip(1e-30)
            total += slice_n * inside * chip_m * (chip_m / 1e-3) ** -cut.mc
    return float(total.max())


def test_a_side_cut_in_aluminium_has_the_worked_chip_force_and_power() -> None:
    vf = feed_speed_m_s(SIDE, 5.0)
    rate = removal_rate_m3_s(SIDE.depth_m, SIDE.width_m, vf)
    kc = mean_specific_force_pa(SIDE)
    found = [
        degrees(arc_of(SIDE).width_rad),
        mean_chip_m(SIDE) * 1e3,
        kc / 1e6,
        mean_tooth_n(SIDE),
        peak_tooth_n(SIDE),
        teeth_in_cut(SIDE),
        mean_total_n(SIDE),
        integrated_mean_total_n(SIDE),
        vf * 60e3,
        rate * 60e6,
        cutting_power_w(rate, kc) / 1e3,
    ]
    worked = [60.0, 0.0381972, 1809.598, 829.4587, 1296.393, 2 / 3, 552.9725, 533.81]
    worked += [1909.859, 91.67325, 2.764862]
    assert found == pytest.approx(worked, rel=FOUR_DIGITS)


def test_a_straight_tooth_sum_peaks_at_one_full_tooth_when_teeth_never_overlap() -> None:
    assert tooth_sum(SIDE).tangential_n == pytest.approx(1296.393, rel=FOUR_DIGITS)
    ratio = tooth_sum(SIDE).tangential_n / mean_total_n(SIDE)
    assert ratio == pytest.approx(2.344, rel=2e-4)


def test_a_face_mill_in_heat_treated_steel_has_the_worked_peak_of_the_sum() -> None:
    found = [
        degrees(arc_of(FACE).width_rad),
        mean_chip_m(FACE) * 1e3,
        mean_specific_force_pa(replace(FACE, worn=1.0)) / 1e6,
        peak_tooth_n(FACE),
        teeth_in_cut(FACE),
        mean_total_n(FACE),
        tooth_sum(FACE).tangential_n,
        mean_total_n(FACE) * 3.0 / 1e3,
    ]
    worked = [88.85, 0.127669937, 2745.07097, 1392.81859, 1.234, 1590.285, 2371.2228, 4.770856]
    assert found == pytest.approx(worked, rel=1e-4)
    assert found[6] == pytest.approx(2371.2228, rel=FOUR_DIGITS)


def test_a_full_slot_in_stainless_steel_has_the_worked_peaks() -> None:
    assert peak_tooth_n(SLOT) == pytest.approx(3053, rel=2e-4)
    assert tooth_sum(SLOT).tangential_n == pytest.approx(4627.613, rel=FOUR_DIGITS)


def test_a_helix_smooths_the_peak_to_the_sum_of_its_slices() -> None:
    exact = tooth_sum(replace(SIDE, helix_rad=HELIX_RAD)).tangential_n
    coarse = sliced_peak(SIDE, 400, 3601, HELIX_RAD)
    fine = sliced_peak(SIDE, 4000, 901, HELIX_RAD)
    assert coarse == pytest.approx(717.1, rel=FOUR_DIGITS)
    assert coarse * tan(HELIX_RAD) == pytest.approx(560.2, rel=1e-4)
    assert exact == pytest.approx(fine, rel=4e-4)
    assert exact == pytest.approx(717.1, rel=2.5e-3)


def test_a_tooth_that_fits_whole_into_the_arc_peaks_at_the_integral_over_the_arc() -> None:
    def force_n(angle: float) -> float:
        return 800e6 * float(np.power(0.08e-3 * sin(angle), 0.75)) * float(np.power(1e-3, 0.25))

    per_rad = 16e-3 / (2 * tan(HELIX_RAD))
    expected = per_rad * quad(force_n, 0, pi / 3)[0]
    exact = tooth_sum(replace(SIDE, helix_rad=HELIX_RAD)).tangential_n
    assert exact == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("cut", [SIDE, FACE, SLOT], ids=["side", "face", "slot"])
@pytest.mark.parametrize("helix_deg", [0.0, 12.0, 30.0, 50.0])
def test_the_peak_agrees_with_slices_added_one_by_one(cut: MillCut, helix_deg: float) -> None:
    exact = tooth_sum(replace(cut, helix_rad=radians(helix_deg))).tangential_n
    assert exact == pytest.approx(sliced_peak(cut, 300, 721, radians(helix_deg)), rel=6e-3)


@pytest.mark.parametrize("cut", [SIDE, FACE, SLOT], ids=["side", "face", "slot"])
def test_a_vanishing_helix_is_no_helix(cut: MillCut) -> None:
    hair = tooth_sum(replace(cut, helix_rad=1e-4), 0.4)
    straight = tooth_sum(cut, 0.4)
    assert hair.tangential_n == pytest.approx(straight.tangential_n, rel=3e-4)
    assert hair.resultant_n == pytest.approx(straight.resultant_n, rel=3e-4)


def test_the_vector_sum_of_one_tooth_is_its_force_with_the_radial_share() -> None:
    sums = tooth_sum(SIDE, 0.4)
    assert sums.resultant_n == pytest.approx(sums.tangential_n * np.hypot(1, 0.4), rel=1e-12)


def test_opposite_teeth_of_a_slot_turn_the_part_more_than_they_push_it() -> None:
    sums = tooth_sum(SLOT)
    assert sums.resultant_n < 0.9 * sums.tangential_n


def test_a_tooth_that_runs_out_raises_the_peak_by_its_thicker_chip() -> None:
    runout = replace(SIDE, runout_m=0.02e-3)
    expected = tooth_sum(SIDE).tangential_n * 1.25**0.75
    assert runout_feed_factor(0.02e-3, 0.08e-3) == pytest.approx(1.25)
    assert tooth_sum(runout).tangential_n == pytest.approx(expected, rel=1e-12)


def test_runout_of_one_of_several_teeth_in_the_cut_raises_only_its_own_part() -> None:
    true, out = tooth_sum(SLOT).tangential_n, tooth_sum(replace(SLOT, runout_m=0.05e-3))
    assert true < out.tangential_n < true * 2**0.8


def test_six_teeth_at_their_own_pitch_never_count_twice() -> None:
    cut = replace(FACE, teeth=6, width_m=25e-3)
    assert degrees(arc_of(cut).width_rad) == pytest.approx(60.0)
    assert tooth_sum(cut).tangential_n == pytest.approx(peak_tooth_n(cut), rel=1e-9)


def test_a_mean_chip_of_the_centred_arc_follows_its_own_formula() -> None:
    share = FACE.width_m / FACE.diameter_m
    by_chord = sin(FACE.lead_rad) * share * FACE.feed_m / np.arcsin(share)
    assert mean_chip_m(FACE) == pytest.approx(by_chord, rel=1e-12)


def test_a_very_thin_side_cut_has_the_chip_of_the_square_root_rule() -> None:
    thin = replace(SIDE, width_m=0.1e-3)
    assert mean_chip_m(thin) == pytest.approx(thin.feed_m * (0.1 / 16) ** 0.5, rel=0.01)


def test_the_thickest_chip_of_a_short_arc_is_where_the_tooth_leaves() -> None:
    assert thickest_chip_m(SIDE) == pytest.approx(0.08e-3 * sin(pi / 3), rel=1e-12)
    assert thickest_chip_m(SLOT) == SLOT.feed_m


def test_a_wide_face_cut_has_the_power_and_mean_force_of_the_handbook() -> None:
    turns_per_s = spindle_speed_per_s(80 / 60, 0.250)
    power_w = cutting_power_w(removal_rate_m3_s(2e-3, 80e-3, 0.280 / 60), 1800e6)
    assert turns_per_s * 60 == pytest.approx(102, rel=0.01)
    assert feed_per_tooth_m(0.280 / 60, turns_per_s, 12) * 1e3 == pytest.approx(0.229, rel=0.01)
    assert power_w / 0.8 == pytest.approx(1680, rel=0.01)
    assert tangential_n(power_w, 80 / 60) == pytest.approx(1008, rel=0.001)


@pytest.mark.parametrize("power", [0.7, 0.75, 1.0, 1.8])
@pytest.mark.parametrize("upper_rad", [0.3, pi / 2, 2.5, pi])
def test_the_integrals_of_sine_powers_agree_with_quadrature(power: float, upper_rad: float) -> None:
    size = quad(lambda x: sin(x) ** power, 0, upper_rad)[0]
    cosine = quad(lambda x: max(sin(x), 0.0) ** power * cos(x), 0, upper_rad)[0]
    assert float(sine_power_integral(power, [upper_rad])[0]) == pytest.approx(size, abs=1e-8)
    found = sine_power_cosine_integral(power, np.array([upper_rad]))
    assert float(found[0]) == pytest.approx(cosine, abs=1e-8)


shares = st.floats(0.02, 1.0)


@given(shares, st.floats(0.02e-3, 0.3e-3), st.integers(1, 8), st.floats(0, 60))
def test_the_peak_is_never_below_the_mean_and_grows_with_feed_and_wear(
    share: float, feed_m: float, teeth: int, helix_deg: float
) -> None:
    cut = replace(SIDE, width_m=share * 16e-3, feed_m=feed_m, teeth=teeth)
    cut = replace(cut, helix_rad=radians(helix_deg))
    peak = tooth_sum(cut, 0.4)
    assert peak.tangential_n >= integrated_mean_total_n(cut) * (1 - 1e-6)
    assert peak.resultant_n <= peak.tangential_n * np.hypot(1, 0.4) * (1 + 1e-12)
    assert peak.tangential_n <= tooth_sum(replace(cut, helix_rad=0.0)).tangential_n * (1 + 1e-6)
    worn = tooth_sum(replace(cut, worn=1.5)).tangential_n
    assert worn == pytest.approx(1.5 * peak.tangential_n, rel=1e-9)
    assert tooth_sum(replace(cut, feed_m=1.2 * feed_m)).tangential_n > peak.tangential_n


@given(shares, st.integers(2, 8))
def test_the_mean_force_is_the_power_of_the_removed_metal(share: float, teeth: int) -> None:
    cut = replace(FACE, width_m=share * 50e-3, teeth=teeth)
    rate = removal_rate_m3_s(cut.depth_m, cut.width_m, feed_speed_m_s(cut, 3.0))
    power_w = cutting_power_w(rate, mean_specific_force_pa(cut))
    assert tangential_n(power_w, 3.0) == pytest.approx(mean_total_n(cut), rel=1e-9)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"width_m": 0.02}, "exceeds the diameter"),
        ({"feed_m": 0.0}, "above 0"),
        ({"depth_m": float("nan")}, "above 0"),
        ({"teeth": 0}, "at least one tooth"),
        ({"lead_rad": 0.0}, "Lead angle"),
        ({"helix_rad": pi / 2}, "Helix angle"),
        ({"mc": 1.0}, "exponent"),
        ({"worn": 0.0}, "worn-edge"),
        ({"runout_m": -1e-6}, "Runout"),
    ],
)
def test_a_cut_no_cutter_can_make_is_refused(change: dict[str, float], message: str) -> None:
    with pytest.raises(CutError, match=message):
        replace(SIDE, **change)  # type: ignore[arg-type]


def test_no_chip_has_no_specific_force() -> None:
    with pytest.raises(CutError, match="Chip thickness"):
        specific_force_pa(0.0, 800e6, 0.25)
