"""Published friction bands, and how coolant moves a friction."""

from __future__ import annotations

import numpy as np
import pytest

from api.mechanics.screws.friction_data import (
    FRICTION_CLASSES,
    one_class_worse,
)


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


def test_every_band_runs_upwards_and_says_where_it_comes_from() -> None:
    for band in FRICTION_CLASSES.values():
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


def _middle(name: str) -> float:
    band = FRICTION_CLASSES[name]
    assert band.high is not None
    return (band.low + band.high) / 2
