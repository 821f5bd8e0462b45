"""Uncertainty of a wedge's side force: sensitivities, budget, draws, and the forms of scatter."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ndtr, ndtri

from api.mechanics.screws.sizes import THREADS
from api.mechanics.screws.torque_tools import permitted_deviation
from api.mechanics.screws.values import ImpossibleInput, Values
from api.mechanics.side_force.forces import Frictions
from api.mechanics.side_force.scatter import (
    alpha_of_scatter,
    log_sigma_of_alpha,
    log_sigma_of_scatter,
    rectangular,
)
from api.mechanics.side_force.wedge import Wedge
from tests.mechanics.forms.scatter import (
    alpha_of_log_sigma,
    log_sigma_of_relative,
    scatter_of_alpha,
)


@dataclass(frozen=True)
class Inputs:
    """M12, 60 N·m, thread, head and wedge at 0.14, base at 0.15, 15 degrees."""

    torque_nm: Values = 60.0
    thread: Values = 0.14
    head: Values = 0.14
    face: Values = 0.14
    base: Values = 0.15
    angle_deg: Values = 15.0

    def side_n(self) -> Values:
        wedge = Wedge(THREADS["M12"], np.radians(self.angle_deg))
        friction = Frictions(self.thread, self.head, self.face, self.base)
        return wedge.side_force(self.torque_nm, friction).side_n


MIDDLE = Inputs()


def per_input(name: str) -> float:
    """d ln S by one unit of an input, by a central difference."""
    middle = getattr(MIDDLE, name)
    step = 1e-5 * middle
    up, down = (replace(MIDDLE, **{name: middle + each}).side_n() for each in (step, -step))
    return float(np.log(up / down) / (2 * step))


def per_log_input(name: str) -> float:
    return float(getattr(MIDDLE, name)) * per_input(name)


@pytest.mark.parametrize(
    ("name", "sensitivity"),
    [
        ("torque_nm", 1.0),
        ("thread", -0.394559370580999),
        ("head", -0.48594779950816913),
        ("face", -0.4081),
        ("base", -0.0678938604114114),
    ],
)
def test_a_percent_of_friction_moves_the_side_force_by_this_much(
    name: str, sensitivity: float
) -> None:
    assert per_log_input(name) == pytest.approx(sensitivity, rel=2e-4)


def test_a_degree_of_wedge_angle_costs_5_percent() -> None:
    assert MIDDLE.side_n() == pytest.approx(29214.135039724595, rel=1e-12)
    assert per_input("angle_deg") == pytest.approx(-0.05187364035634941, rel=1e-6)


# Budget: tool within 4 %, application 3 %, each friction 15 %, base 20 %, angle 0.25 degree.
def contributions() -> dict[str, float]:
    frictions = {name: 0.15 * per_log_input(name) for name in ("thread", "head", "face")}
    return frictions | {
        "tool": float(rectangular(permitted_deviation("II", "A", 60.0))),
        "application": 0.03,
        "base": 0.20 * per_log_input("base"),
        "angle": 0.25 * per_input("angle_deg"),
    }


def test_the_budget_with_independent_frictions() -> None:
    combined = math.sqrt(sum(each**2 for each in contributions().values()))
    assert 100 * combined == pytest.approx(11.978811369418848, rel=1e-6)


# JCGM 100 with correlation 1 among thread, head and wedge, which share grease and wear.
def test_one_grease_on_all_faces_makes_it_two_thirds_wider() -> None:
    parts = contributions()
    shared = sum(parts.pop(name) for name in ("thread", "head", "face"))
    combined = math.sqrt(shared**2 + sum(each**2 for each in parts.values()))
    assert float(f"{100 * combined:.4g}") == 19.79


def test_the_torque_tool_is_a_minor_term() -> None:
    parts = contributions()
    assert 100 * parts["tool"] == pytest.approx(2.3, abs=0.05)
    assert abs(parts["tool"]) < min(abs(parts[name]) for name in ("thread", "head", "face")) / 2


# 400 000 draws, independent: frictions log-normal about their medians, the tool rectangular, the rest
# normal. Median 28 930 N, 95 % from 22 720 to 36 430 N (2.5 % cut off at each end), 12.01 %.
def test_draws_agree_with_the_worked_interval() -> None:
    rng, n = np.random.default_rng(20240501), 400_000

    def friction(median: float, sigma: float) -> npt.NDArray[np.float64]:
        return median * np.exp(sigma * rng.standard_normal(n))

    torque = 60 * (1 + 0.04 * rng.uniform(-1, 1, n)) * (1 + 0.03 * rng.standard_normal(n))
    thread, head, face = (friction(0.14, 0.15) for _ in range(3))
    base, angle_deg = friction(0.15, 0.20), 15 + 0.25 * rng.standard_normal(n)
    drawn = Inputs(torque, thread, head, face, base, angle_deg).side_n()
    low, median, high = np.quantile(drawn, [0.025, 0.5, 0.975])
    assert median == pytest.approx(28927.307951344847, rel=5e-3)
    assert low == pytest.approx(22718.813435414104, rel=5e-3)
    assert high == pytest.approx(36428.301186029814, rel=5e-3)
    assert 100 * np.std(drawn) / np.mean(drawn) == pytest.approx(12.01, rel=5e-3)


@pytest.mark.parametrize(
    ("alpha", "percent"),
    [
        (1.2, 9.090909090909088),
        (1.4, 16.666666666666664),
        (1.6, 23.07692307692308),
        (2.0, 33.333333333333336),
        (2.5, 42.857142857142854),
        (4.0, 60.0),
    ],
)
def test_a_tightening_factor_is_a_symmetric_scatter(alpha: float, percent: float) -> None:
    assert 100 * scatter_of_alpha(alpha) == pytest.approx(percent, rel=1e-12)
    assert alpha_of_scatter(percent / 100) == pytest.approx(alpha)


def test_a_factor_of_1_6_read_as_two_sigma() -> None:
    assert log_sigma_of_alpha(1.6) == pytest.approx(0.11750090731143391, rel=1e-12)
    assert log_sigma_of_scatter(0.23076923076923078) == pytest.approx(0.11750090731143391)


@given(st.floats(1.0, 10.0), st.floats(0.5, 3.5))
def test_the_forms_of_scatter_turn_into_each_other(alpha: float, coverage: float) -> None:
    sigma = log_sigma_of_alpha(alpha, coverage)
    assert alpha_of_log_sigma(sigma, coverage) == pytest.approx(alpha)
    assert log_sigma_of_scatter(scatter_of_alpha(alpha), coverage) == pytest.approx(
        sigma, abs=1e-12
    )


def test_the_extremes_lie_the_coverage_from_the_median() -> None:
    rng = np.random.default_rng(7)
    drawn = np.exp(log_sigma_of_scatter(0.15) * rng.standard_normal(200_000))
    low, high = np.quantile(drawn, ndtr([-2.0, 2.0]))
    assert high / low == pytest.approx(alpha_of_scatter(0.15), rel=1e-2)


# A log-normal hold (25 %) against a log-normal cut (20 %): chance that the hold is the smaller one.
@pytest.mark.parametrize(
    ("ratio", "index", "chance"),
    [
        (1.5, 1.283, 0.09971346728292091),
        (2.0, 2.1936208829301083, 0.014131337927369703),
        (2.5, 2.900, 0.001866950104238152),
        (3.0, 3.476806840243056, 0.00025371161982912227),
    ],
)
def test_relative_deviations_become_log_normal_ones(
    ratio: float, index: float, chance: float
) -> None:
    both = math.hypot(float(log_sigma_of_relative(0.25)), float(log_sigma_of_relative(0.20)))
    assert math.log(ratio) / both == pytest.approx(index, abs=5e-4)
    assert ndtr(-math.log(ratio) / both) == pytest.approx(chance, rel=1e-9)
    assert math.exp(-float(ndtri(1e-4)) * both) == pytest.approx(3.239, abs=5e-4)


def test_a_log_normal_of_a_relative_deviation_has_that_deviation() -> None:
    sigma = float(log_sigma_of_relative(0.3))
    variance_over_mean_squared = math.exp(sigma**2) - 1
    assert math.sqrt(variance_over_mean_squared) == pytest.approx(0.3)


def test_a_rectangular_limit_is_divided_by_the_root_of_three() -> None:
    assert rectangular(1.0) == pytest.approx(0.5773502691896258, rel=1e-12)


def test_an_impossible_scatter_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="exchange the two"):
        log_sigma_of_alpha(0.8)
    with pytest.raises(ImpossibleInput, match=r"write 15 % as 0\.15"):
        log_sigma_of_scatter(15.0)
    with pytest.raises(ImpossibleInput, match="coverage"):
        log_sigma_of_alpha(1.6, coverage=0.0)
    with pytest.raises(ImpossibleInput, match="half-width"):
        rectangular(-0.04)
    with pytest.raises(ImpossibleInput, match="standard deviation"):
        log_sigma_of_relative(math.nan)
