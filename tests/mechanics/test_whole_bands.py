"""Bands by drawing (JCGM 101): moments and quantiles that are known, and what belongs together."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.special import ndtr
from scipy.stats import kstest

from api.mechanics.screws.sizes import THREADS
from api.mechanics.screws.values import Values
from api.mechanics.side_force.cone import Cone
from api.mechanics.side_force.forces import Frictions, SideForce, Spreader
from api.mechanics.whole.assembly import Assembly, Friction, Jack
from api.mechanics.whole.bands import (
    HAND_SHARE,
    MOST_FRICTION,
    OWN_SHARE,
    PLATE_SHARE,
    Z_95,
    Draws,
    Spread,
    Strata,
    draw,
    interval,
    log_sigma,
)
from api.mechanics.whole.run import Bands, Pose, bands, solve
from tests.mechanics.whole_cases import COARSE_M, FRICTION, Array, jack, two_by_two

MANY = 200_000
CONE = Cone(THREADS["M8"], np.radians(10), 0.0055)


@dataclass(frozen=True)
class Plain:
    """Side force and tension in proportion to torque and one friction, to see what was drawn."""

    def side_force(self, torque_nm: Values, friction: Frictions) -> SideForce:
        return SideForce(np.asarray(friction.thread * torque_nm), np.asarray(friction.base + 0.0))

    def torque_nm(self, side_n: Values, friction: Frictions) -> Values:
        return np.asarray(side_n / friction.thread)


def with_jacks(*jacks: Jack) -> Assembly:
    return replace(two_by_two(), jacks=jacks)


def coned(grease: int = 0, friction: Friction = FRICTION, kind: int = 0) -> Jack:
    spreader: Spreader = CONE
    return Jack(0.1, 0.1, spreader, 10.0, friction, friction, grease, kind, 0.04)


def quantile_n(share: float, sigma: float) -> float:
    """Of T (1 + 0.03 h) exp(sigma z) with normal h and z: over h by Gauss-Hermite."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(40)

    def below(force: float) -> float:
        z = np.log(force / (8000.0 * (1 + HAND_SHARE * nodes))) / sigma
        return float(weights @ ndtr(z) / weights.sum()) - share

    return float(brentq(below, 1000.0, 60000.0))


@pytest.mark.parametrize("sigma", [0.07, 0.15])
def test_a_measured_force_has_the_quantiles_of_its_scatter_and_of_the_hand(sigma: float) -> None:
    one = replace(jack(0.1, 0.1), tool_share=0.0, scatter=sigma)
    side = draw(with_jacks(one), MANY).side_n[:, 0]
    for share in (0.025, 0.5, 0.975):
        assert np.quantile(side, share) == pytest.approx(quantile_n(share, sigma), rel=4e-3)


def test_a_measured_force_has_the_moments_of_tool_hand_and_scatter() -> None:
    tool, sigma = 0.06, 0.10
    one = replace(jack(0.1, 0.1), tool_share=tool, scatter=sigma)
    side = draw(with_jacks(one), MANY).side_n[:, 0]
    mean = 8000.0 * np.exp(sigma**2 / 2)
    square = (1 + tool**2 / 3) * (1 + HAND_SHARE**2) * np.exp(sigma**2)
    assert side.mean() == pytest.approx(mean, rel=1.5e-3)
    assert side.std() == pytest.approx(mean * np.sqrt(square - 1), rel=8e-3)


def test_without_scatter_only_hand_and_tool_are_left() -> None:
    one = replace(jack(0.1, 0.1), tool_share=0.04, scatter=0.0)
    side = draw(with_jacks(one), MANY).side_n[:, 0]
    share = np.sqrt((1 + 0.04**2 / 3) * (1 + HAND_SHARE**2) - 1)
    assert side.std() / side.mean() == pytest.approx(share, rel=8e-3)


def test_low_and_high_friction_are_its_2_5_and_97_5_percent_points() -> None:
    friction = Friction(0.08, float(np.sqrt(0.08 * 0.18)), 0.18)
    one = Jack(0.1, 0.1, Plain(), 1.0, FRICTION, friction, 0, 0, 0.0)
    drawn = draw(with_jacks(one), MANY).screw_n[:, 0]
    assert np.quantile(drawn, [0.025, 0.5, 0.975]) == pytest.approx(
        [0.08, friction.usual, 0.18], rel=4e-3
    )
    sigma = np.log(0.18 / 0.08) / (2 * Z_95)
    assert log_sigma(friction) == pytest.approx(sigma, rel=1e-12)
    assert kstest(np.log(drawn / friction.usual) / sigma, "norm").pvalue > 1e-3


def test_no_friction_above_0_6_is_drawn() -> None:
    one = Jack(0.1, 0.1, Plain(), 1.0, FRICTION, Friction(0.2, 0.4, 0.8), 0, 0, 0.0)
    drawn = draw(with_jacks(one), MANY).screw_n[:, 0]
    assert drawn.max() == MOST_FRICTION


def test_plate_and_clamps_vary_by_their_shares() -> None:
    drawn = draw(two_by_two(), MANY)
    assert drawn.plate.mean() == pytest.approx(1.0, abs=4e-4)
    assert drawn.plate.std() == pytest.approx(PLATE_SHARE, rel=0.01)
    assert drawn.own.std() == pytest.approx(OWN_SHARE, rel=0.01)
    for even in (drawn.pull, drawn.bars):
        assert kstest(even, "uniform", args=(-1, 2)).pvalue > 1e-3


def correlation(first: Jack, second: Jack) -> float:
    side = draw(with_jacks(first, second), 5000).side_n
    return float(np.asarray(np.corrcoef(side.T))[0, 1])


def test_two_clamps_of_one_grease_rise_and_fall_together() -> None:
    assert correlation(coned(), coned()) > 0.8


def test_two_clamps_of_different_greases_share_little() -> None:
    one = replace(coned(), base=Friction(0.11, 0.11, 0.11))
    assert correlation(one, replace(one, grease=1, kind=1)) < 0.25


def test_measured_clamps_share_no_friction() -> None:
    side = draw(with_jacks(jack(0.1, 0.1), jack(0.2, 0.1)), 5000).side_n
    assert abs(np.asarray(np.corrcoef(side.T))[0, 1]) < 0.2


def test_the_same_assembly_draws_the_same() -> None:
    one, other = draw(two_by_two()), draw(two_by_two())
    for name in Draws.__dataclass_fields__:
        assert np.array_equal(getattr(one, name), getattr(other, name), equal_nan=True)


frictions = st.tuples(st.floats(0.05, 0.2), st.floats(1.0, 1.6), st.floats(1.01, 1.5))


@given(drawn=frictions)
@settings(max_examples=30, deadline=None)
def test_wider_friction_never_gives_a_narrower_band(drawn: tuple[float, float, float]) -> None:
    usual, spread, wider = drawn
    narrow = Friction(usual / spread, usual, usual * spread)
    wide = Friction(usual / spread / wider, usual, usual * spread * wider)
    widths = []
    for friction in (narrow, wide):
        found = draw(with_jacks(coned(friction=friction)), 2000).side_n[:, 0]
        low, high = np.quantile(found, [0.025, 0.975])
        widths.append(high - low)
    assert widths[1] >= widths[0] * (1 - 1e-9)


def test_half_of_a_cones_forces_lie_above_its_usual_force() -> None:
    usual = Frictions.same(0.11)
    friction = Friction(0.11 / 1.3, 0.11, 0.11 * 1.3)
    side = draw(with_jacks(coned(friction=friction)), MANY).side_n[:, 0]
    force_n = float(CONE.side_force(10.0, usual).side_n)
    assert np.median(side) == pytest.approx(force_n, rel=3e-3)


def test_an_interval_holds_its_usual_value_even_where_no_draw_does() -> None:
    found = interval(np.array([[1.0], [2.0], [3.0]]), np.array([5.0]))
    assert float(found.low[0]) < 5.0 == float(found.high[0]) == float(found.usual[0])


READINGS: tuple[tuple[Pose, Pose], ...] = (
    ("touched lying", "pressed pulled"),
    ("touched lying", "pressed lying"),
    ("bare pulled", "pressed pulled"),
    ("touched pulled", "touched pulled"),
)


@cache
def banded(share_known: bool = True) -> Bands:
    it = replace(two_by_two(), share_known=share_known)
    found = solve(it, (0.5, 1.0), (0, 3, 1, 2), COARSE_M)
    return bands(found, found, READINGS)


def width(spread: Spread) -> Array:
    return np.asarray(spread.high - spread.low)


@pytest.mark.parametrize("name", ["side", "locked", "readings"])
def test_every_usual_value_lies_within_its_band(name: str) -> None:
    spread: Spread = getattr(banded(), name)
    assert (spread.low <= spread.usual).all()
    assert (spread.usual <= spread.high).all()
    assert all(np.isfinite(values).all() for values in (spread.low, spread.usual, spread.high))


def test_a_measured_clamp_has_no_band_of_its_screw() -> None:
    assert np.isnan(banded().screw.usual).all()


def test_a_reading_of_a_pose_against_itself_is_nothing() -> None:
    readings = banded().readings
    assert (readings.low[3], readings.usual[3], readings.high[3]) == (0.0, 0.0, 0.0)


def test_the_least_force_of_a_part_is_below_its_usual_one_and_never_a_pull() -> None:
    found = banded()
    assert found.least_link_n.min() >= 0
    assert (found.least_link_n < found.side.usual).all()


def test_the_same_assembly_gives_the_same_bands() -> None:
    again = banded.__wrapped__()
    assert np.array_equal(again.readings.low, banded().readings.low)
    assert np.array_equal(again.locked.high, banded().locked.high)


def test_a_reading_is_less_sure_where_the_bars_share_is_only_assumed() -> None:
    """Where the bars' share hardly moves a point the draws decide, by less than a hundredth."""
    wider = width(banded(False).readings)[:3] / width(banded().readings)[:3]
    assert wider.min() > 0.99 and wider.max() > 1.02


def test_every_stratum_is_drawn_once() -> None:
    values = Strata(1, 40).either_way()
    assert sorted(np.floor((values + 1) * 20)) == list(range(40))
    normal = Strata(2, 400).normal(3.0, 0.5)
    assert normal.mean() == pytest.approx(3.0, abs=5e-3)
    assert normal.std() == pytest.approx(0.5, rel=0.02)


def test_the_ends_of_a_side_force_scatter_by_less_than_two_percent_from_seed_to_seed() -> None:
    drawn = [draw(with_jacks(coned()), seed=seed).side_n[:, 0] for seed in range(20)]
    ends = np.quantile(drawn, [0.025, 0.975], axis=1)
    assert (ends.std(axis=1) / ends.mean(axis=1)).max() < 0.02
