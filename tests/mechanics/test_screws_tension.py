"""Torque and tension of a screw: worked values to four digits, and what must hold for any screw."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.mechanics.screws.geometry import Thread
from api.mechanics.screws.sizes import THREADS
from api.mechanics.screws.tension import (
    headed_arm_m,
    linear_arm_m,
    tension_n,
    thread_arm_m,
    torque_nm,
)
from api.mechanics.screws.values import ImpossibleInput
from tests.mechanics.forms.screws import (
    iso_16047_arm_m,
    loosening_torque_nm,
    nut_factor,
    tension_by_nut_factor_n,
    tension_gain_n,
    torque_by_nut_factor_nm,
    torque_split,
)

M8 = THREADS["M8"]
LBF_IN_NM, LBF_N, INCH_M = 0.1129848290276167, 4.4482216152605, 0.0254
frictions = st.floats(0.0, 0.6)
threads = st.sampled_from(sorted(THREADS)).map(THREADS.__getitem__)


def four(value: object) -> float:
    return float(f"{float(str(value)):.4g}")


# Worked example: M8, 20 N·m, friction 0.12 in thread and head, bearing diameter 11 mm.
def test_an_m8_screw_at_20_newton_metres_in_all_three_forms() -> None:
    assert four(tension_n(M8, 20, 0.12, 0.12)) == 14680
    assert 20 / linear_arm_m(M8, 0.12, 0.12) == pytest.approx(14702.727244971868, rel=1e-12)
    assert 20 / iso_16047_arm_m(M8, 0.12, 0.12) == pytest.approx(14683.973853441496, rel=1e-12)
    assert nut_factor(M8, 0.12, 0.12) == pytest.approx(0.17029211008532685, rel=1e-12)


def test_the_torque_of_that_screw_is_mostly_friction() -> None:
    split = torque_split(M8, 0.12, 0.12)
    assert four(100 * split.pitch) == 14.60
    assert 100 * split.thread == pytest.approx(36.95071380329325, rel=1e-12)
    assert 100 * split.head == pytest.approx(48.44616697665113, rel=1e-12)


def test_that_screw_comes_loose_at_less_than_it_was_tightened_with() -> None:
    tension = tension_n(M8, 20, 0.12, 0.12)
    assert loosening_torque_nm(M8, tension, 0.12, 0.12) == pytest.approx(
        14.046250101866928, rel=1e-12
    )


# The same screw and torque against friction.
@pytest.mark.parametrize(
    ("mu", "printed"),
    [
        (0.06, 25650),
        (0.08, 20540),
        (0.10, 17120),
        (0.12, 14680),
        (0.14, 12850),
        (0.16, 11420),
        (0.20, 9336),
        (0.25, 7600),
        (0.30, 6406),
    ],
)
def test_friction_moves_the_tension_at_one_torque(mu: float, printed: float) -> None:
    assert four(tension_n(M8, 20, mu, mu)) == printed


@pytest.mark.parametrize(
    ("mu", "exact"),
    [
        (0.06, 25651.835436253034),
        (0.08, 20540.698374482796),
        (0.12, 14680.65665959125),
        (0.14, 12845.270568858348),
        (0.16, 11416.382897805297),
        (0.25, 7600.126438819094),
        (0.30, 6405.762866794659),
    ],
)
def test_many_frictions_at_once_give_what_each_gives_alone(mu: float, exact: float) -> None:
    many = np.array([0.05, mu, 0.5])
    tensions = tension_n(M8, 20, many, many)
    assert isinstance(tensions, np.ndarray) and tensions.shape == (3,)
    assert tensions[1] == pytest.approx(exact, rel=1e-12)


def test_a_greased_screw_at_a_dry_torque_is_overloaded() -> None:
    greased, dry = tension_n(M8, 20, 0.08, 0.08), tension_n(M8, 20, 0.16, 0.16)
    assert greased / dry == pytest.approx(1.80, abs=5e-3)


# 1/4-20 at 12 N·m, friction 0.12: 11 000 N, K 0.1718.
def test_an_inch_screw_uses_its_own_head_and_hole() -> None:
    thread = THREADS["1/4-20"]
    assert tension_n(thread, 12, 0.12, 0.12) == pytest.approx(11001.297062450856, rel=1e-12)
    assert four(nut_factor(thread, 0.12, 0.12)) == 0.1718


# Shop case: a number 10 screw to 1275 lb, torque by the nut factor.
@pytest.mark.parametrize(
    ("k", "lbf_in"), [(0.30, 72.7), (0.25, 60.6), (0.20, 48.5), (0.15, 36.3), (0.10, 24.2)]
)
def test_the_torque_for_a_tension_follows_the_nut_factor(k: float, lbf_in: float) -> None:
    torque = torque_by_nut_factor_nm(0.190 * INCH_M, 1275 * LBF_N, k)
    assert torque / LBF_IN_NM == pytest.approx(lbf_in, abs=0.051)


@pytest.mark.parametrize(
    ("k", "lbf"), [(0.30, 850), (0.25, 1020), (0.20, 1276), (0.15, 1700), (0.10, 2550)]
)
def test_the_tension_at_one_torque_spreads_threefold_with_the_nut_factor(
    k: float, lbf: float
) -> None:
    tension = tension_by_nut_factor_n(0.190 * INCH_M, 48.5 * LBF_IN_NM, k)
    assert tension / LBF_N == pytest.approx(lbf, rel=2e-3)


# Shop case: a torque for a dry screw cut to 0.75 and to 0.65 for anti-seize, but not cut in the shop.
@pytest.mark.parametrize(("rule", "factor"), [(0.75, 1.33), (0.65, 1.54)])
def test_a_dry_torque_kept_after_anti_seize_gives_that_much_more_force(
    rule: float, factor: float
) -> None:
    dry = tension_by_nut_factor_n(12e-3, 80, 0.20)
    greased = tension_by_nut_factor_n(12e-3, 80, 0.20 * rule)
    assert greased / dry == pytest.approx(factor, abs=5e-3)


# K uniform from 0.14 to 0.22: the mean of 1/K is ln(b/a)/(b - a) = 5.650, not 1/mean = 5.556.
def test_the_mean_tension_is_above_the_tension_at_the_mean_nut_factor() -> None:
    a, b, n = 0.14, 0.22, 200_000
    k = a + (b - a) * (np.arange(n) + 0.5) / n
    tensions = tension_by_nut_factor_n(1.0, 1.0, k)
    mean, spread = float(np.mean(tensions)), float(np.std(tensions))
    middle = tension_by_nut_factor_n(1.0, 1.0, (a + b) / 2)
    assert mean == pytest.approx(math.log(b / a) / (b - a), rel=1e-9)
    assert four(mean) == 5.650
    assert middle == pytest.approx(5.555555555555555, rel=1e-12)
    assert 100 * (middle / mean - 1) == pytest.approx(-1.6683467889751946, rel=1e-6)
    assert 100 * spread / mean == pytest.approx(13.092198470186906, rel=1e-6)
    first_order = (b - a) / math.sqrt(12) / ((a + b) / 2)
    assert four(100 * first_order) == 12.83


def test_a_turn_of_a_snug_screw_adds_tension_whatever_the_friction() -> None:
    stiff = tension_gain_n(M8, math.pi / 2, 1e-8, 0.5e-8)
    assert stiff == pytest.approx(0.25 * 1.25e-3 / 1.5e-8)
    assert tension_gain_n(M8, math.pi, 1e-8, 0.5e-8) == pytest.approx(2 * stiff)


def test_a_screw_without_friction_undoes_itself_and_one_with_friction_does_not() -> None:
    assert loosening_torque_nm(M8, 1e4, 0.0, 0.0) == pytest.approx(-1e4 * 1.25e-3 / (2 * math.pi))
    assert loosening_torque_nm(M8, 1e4, 0.1, 0.1) > 0


@given(threads, st.floats(0, 500))
def test_without_friction_all_work_lifts_the_load(thread: Thread, torque: float) -> None:
    tension = tension_n(thread, torque, 0.0, 0.0)
    assert tension * thread.pitch_m == pytest.approx(2 * math.pi * torque)


@given(threads, st.floats(1e-3, 500), frictions, frictions)
def test_torque_and_tension_are_inverse_and_the_split_is_whole(
    thread: Thread, torque: float, mu_thread: float, mu_head: float
) -> None:
    tension = tension_n(thread, torque, mu_thread, mu_head)
    assert torque_nm(thread, tension, mu_thread, mu_head) == pytest.approx(torque)
    split = torque_split(thread, mu_thread, mu_head)
    assert split.pitch + split.thread + split.head == pytest.approx(1)
    assert min(split.pitch, split.thread + 1e-12, split.head) >= 0


@given(
    threads,
    st.floats(0.1, 500),
    frictions,
    st.floats(1e-4, 0.3),
)
def test_more_friction_never_gives_more_tension(
    thread: Thread, torque: float, mu: float, more: float
) -> None:
    tension = tension_n(thread, torque, mu, mu)
    assert tension_n(thread, torque, mu + more, mu) < tension
    assert tension_n(thread, torque, mu, mu + more) < tension
    assert tension_n(thread, 1.01 * torque, mu, mu) > tension


@given(threads, st.floats(0.0, 0.3), st.floats(0.0, 0.3))
def test_the_printed_forms_agree_with_the_exact_one(
    thread: Thread, mu_thread: float, mu_head: float
) -> None:
    exact = headed_arm_m(thread, mu_thread, mu_head)
    assert iso_16047_arm_m(thread, mu_thread, mu_head) == pytest.approx(exact, rel=1e-3)
    assert linear_arm_m(thread, mu_thread, mu_head) == pytest.approx(exact, rel=0.02)


def test_a_friction_that_jams_the_thread_is_refused() -> None:
    limit = math.cos(math.radians(30)) / math.tan(M8.lead_angle_rad)
    assert thread_arm_m(M8, 0.999 * limit) > 1
    with pytest.raises(ImpossibleInput, match=r"jams the thread M8; give one below 15\.6"):
        thread_arm_m(M8, 1.001 * limit)


@pytest.mark.parametrize("mu", [-0.01, math.nan, math.inf])
def test_an_impossible_friction_is_refused_with_what_would_be_right(mu: float) -> None:
    with pytest.raises(ImpossibleInput, match=r"friction of the thread .* like 0\.12"):
        tension_n(M8, 20, mu, 0.12)
    with pytest.raises(ImpossibleInput, match=r"friction of the head .* like 0\.12"):
        tension_n(M8, 20, 0.12, np.array([0.12, mu]))


def test_a_negative_torque_or_tension_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="torque must be"):
        tension_n(M8, -1, 0.12, 0.12)
    with pytest.raises(ImpossibleInput, match="tension must be"):
        torque_nm(M8, math.nan, 0.12, 0.12)
    with pytest.raises(ImpossibleInput, match="nut factor must be"):
        tension_by_nut_factor_n(8e-3, 20, 0.0)
    with pytest.raises(ImpossibleInput, match="compliance of screw and joint"):
        tension_gain_n(M8, 1.0, 0.0, 0.0)
