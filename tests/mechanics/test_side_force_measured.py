"""A side force that was measured: along its points, below them and beyond."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.mechanics.screws.values import ImpossibleInput
from api.mechanics.side_force.forces import Frictions
from api.mechanics.side_force.measured import Measured

CURVE = Measured(np.array([5.0, 10.0, 12.0]), np.array([2600.0, 5400.0, 6200.0]))
ANY = Frictions.same(0.12)


@pytest.mark.parametrize(
    ("torque", "side"),
    [
        (0.0, 0.0),
        (2.5, 1300.0),
        (5.0, 2600.0),
        (7.5, 4000.0),
        (10.0, 5400.0),
        (12.0, 6200.0),
        (15.0, 7400.0),
    ],
)
def test_a_measured_force_runs_straight_between_its_points(torque: float, side: float) -> None:
    force = CURVE.side_force(torque, ANY)
    assert force.side_n == pytest.approx(side)
    assert force.screw_n is None
    assert CURVE.torque_nm(side, ANY) == pytest.approx(torque)


def test_a_torque_above_the_last_measured_one_is_flagged() -> None:
    torques = np.array([0.0, 4.0, 12.0, 12.001])
    assert CURVE.is_beyond(torques).tolist() == [False, False, False, True]


def test_a_single_point_stands_for_a_line_through_the_origin() -> None:
    one = Measured(np.array([10.0]), np.array([5000.0]))
    sides = one.side_force(np.array([5.0, 10.0, 20.0]), ANY).side_n
    assert np.asarray(sides) == pytest.approx([2500, 5000, 10000])


def test_the_friction_of_the_day_is_already_in_the_data() -> None:
    greased, dry = Frictions.same(0.06), Frictions.same(0.40)
    assert CURVE.side_force(8, greased).side_n == CURVE.side_force(8, dry).side_n


@given(st.floats(0, 100), st.floats(0, 100))
def test_more_torque_never_gives_less_measured_force(a: float, b: float) -> None:
    low, high = sorted((a, b))
    assert CURVE.side_force(low, ANY).side_n <= CURVE.side_force(high, ANY).side_n
    assert CURVE.torque_nm(CURVE.side_force(a, ANY).side_n, ANY) == pytest.approx(a)


@pytest.mark.parametrize(
    ("torques", "sides", "says"),
    [
        ([], [], "at least one pair"),
        ([5.0, 10.0], [2600.0, np.nan], "list of numbers"),
        ([[5.0, 10.0]], [2600.0], "list of numbers"),
        ([10.0, 5.0], [2600.0, 5400.0], "torques do not rise"),
        ([5.0, 10.0], [2600.0, 2600.0], "forces do not rise"),
        ([0.0, 10.0], [0.0, 2600.0], "torques do not rise from 0"),
        ([5.0, 10.0], [2600.0], "in pairs"),
    ],
)
def test_a_table_that_does_not_rise_is_refused(
    torques: list[float], sides: list[float], says: str
) -> None:
    with pytest.raises(ImpossibleInput, match=says):
        Measured(np.array(torques), np.array(sides))


def test_a_negative_torque_or_force_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="torque"):
        CURVE.side_force(-1, ANY)
    with pytest.raises(ImpossibleInput, match="side force"):
        CURVE.torque_nm(-1, ANY)
