"""Published friction bands and scatters, and how coolant moves a friction."""

from __future__ import annotations

import numpy as np
import pytest

from api.mechanics.screws.friction_data import (
    FACE_FRICTIONS,
    FRICTION_CLASSES,
    NUT_FACTORS,
    one_class_worse,
)
from api.mechanics.screws.tightening_methods import TIGHTENING_METHODS
from api.mechanics.side_force.scatter import scatter_of_alpha


# Friction classes of VDI 2230.
@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("A", 0.04, 0.10),
        ("B", 0.08, 0.16),
        ("C", 0.14, 0.24),
        ("D", 0.20, 0.35),
        ("E", 0.30, None),
    ],
)
def test_a_friction_class_has_its_band(name: str, low: float, high: float | None) -> None:
    assert (FRICTION_CLASSES[name].low, FRICTION_CLASSES[name].high) == (low, high)


@pytest.mark.parametrize("table", [FRICTION_CLASSES, FACE_FRICTIONS, NUT_FACTORS])
def test_every_band_runs_upwards_and_says_where_it_comes_from(table: object) -> None:
    assert isinstance(table, dict) and table
    for band in table.values():
        assert 0 < band.low <= (band.low if band.high is None else band.high) <= 0.5
        assert band.what and band.source


@pytest.mark.parametrize(("before", "after"), [("A", "B"), ("B", "C"), ("C", "D")])
def test_the_middle_of_a_class_washes_out_to_the_middle_of_the_next(
    before: str, after: str
) -> None:
    assert one_class_worse(_middle(before)) == pytest.approx(_middle(after))


def test_a_washed_surface_is_never_better_and_keeps_its_place_among_others() -> None:
    mu = np.linspace(0.0, 0.6, 601)
    washed = one_class_worse(mu)
    assert isinstance(washed, np.ndarray)
    assert (washed >= mu).all() and (np.diff(washed) > 0).all()


# Symmetric scatter in per cent printed beside each range of the factor.
@pytest.mark.parametrize(
    ("method", "low", "high"),
    [
        ("length by ultrasound", 2, 10),
        ("length measured", 5, 20),
        ("to yield or by angle", 9, 17),
        ("hydraulic", 9, 23),
        ("torque wrench, torque found by test", 17, 23),
        ("torque wrench, friction estimated", 23, 33),
        ("torque wrench, friction estimated, solid lubricant", 26, 43),
        ("power driver", 26, 43),
        ("impact driver or plain key", 43, 60),
    ],
)
def test_the_scatter_of_a_method_agrees_with_its_tightening_factor(
    method: str, low: float, high: float
) -> None:
    factor = TIGHTENING_METHODS[method]
    assert 100 * scatter_of_alpha(factor.alpha_low) == pytest.approx(low, abs=0.51)
    assert 100 * scatter_of_alpha(factor.alpha_high) == pytest.approx(high, abs=1.0)


def _middle(name: str) -> float:
    band = FRICTION_CLASSES[name]
    assert band.high is not None
    return (band.low + band.high) / 2
