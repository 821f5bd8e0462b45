"""An assembly changed a little, computed from what was known, is the changed one computed anew."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.mechanics.contact.settling import settle
from api.mechanics.whole.assembly import Assembly
from api.mechanics.whole.run import COARSE_M, POSES, Solved, again, coarser, solve
from tests.mechanics.test_contact_settling import random_bed
from tests.mechanics.whole_cases import Array, two_by_two

SHARES, ORDER = (0.5, 1.0), (2, 0, 3, 1)


def torque(it: Assembly) -> Assembly:
    return replace(it, jacks=tuple(replace(jack, torque_nm=7.0) for jack in it.jacks))


def locked(it: Assembly) -> Assembly:
    return replace(it, tightened_locked=True)


def pull(it: Assembly) -> Assembly:
    return replace(it, receivers=replace(it.receivers, pull_n=9e3))


def receivers(it: Assembly) -> Assembly:
    return replace(it, receivers=replace(it.receivers, x_m=(0.06, 0.34, 0.06, 0.34)))


def base(it: Assembly) -> Assembly:
    return replace(it, receivers=replace(it.receivers, everywhere=True))


def shares(it: Assembly) -> Assembly:
    bars = tuple(replace(bar, share=0.8) for bar in it.shape.bars)
    return replace(it, shape=replace(it.shape, bars=bars))


def thickness(it: Assembly) -> Assembly:
    return replace(it, shape=replace(it.shape, thickness_m=0.03))


def fewer_bars(it: Assembly) -> Assembly:
    return replace(it, shape=replace(it.shape, bars=it.shape.bars[1:]))


def clamps(it: Assembly) -> Assembly:
    return replace(it, links=tuple(replace(link, own_m_per_n=3e-8) for link in it.links))


def anchors(it: Assembly) -> Assembly:
    return replace(it, anchors_m_per_n=(2e-9,) * 8)


def points(it: Assembly) -> Assembly:
    return replace(it, points=((0.3, 0.2),))


CHANGES = (
    torque,
    locked,
    pull,
    receivers,
    base,
    shares,
    thickness,
    fewer_bars,
    clamps,
    anchors,
    points,
)


@pytest.fixture(scope="module")
def near() -> Solved:
    return solve(two_by_two(), SHARES, ORDER, COARSE_M)


def figures(found: Solved) -> list[Array]:
    done = found.tightened
    return [
        np.concatenate([found.heights_m[pose] for pose in POSES]),
        np.concatenate([done.run.jack_n.ravel(), done.free.link_n, done.locked.link_n]),
        done.bed.interaction.compliance_m_per_n,
        done.locked_bed.interaction.compliance_m_per_n,
    ]


def assert_alike(one: Solved, other: Solved) -> None:
    for found, expected in zip(figures(one), figures(other), strict=True):
        assert found == pytest.approx(expected, rel=1e-9, abs=1e-9 * np.abs(expected).max())


@pytest.mark.parametrize("change", CHANGES)
def test_a_change_computed_from_what_was_known_is_the_change_computed_anew(
    change: Callable[[Assembly], Assembly], near: Solved
) -> None:
    changed = change(two_by_two())
    assert changed != near.assembly
    assert_alike(again(near, changed), solve(changed, SHARES, ORDER, COARSE_M))


def test_changes_follow_one_another_without_leaving_a_trace(near: Solved) -> None:
    there = again(again(near, receivers(near.assembly)), locked(torque(near.assembly)))
    assert_alike(again(there, near.assembly), near)


def test_nothing_changed_is_nothing_computed(near: Solved) -> None:
    assert again(near, replace(near.assembly)) is near


def test_the_coarse_grid_is_that_of_a_whole_computation() -> None:
    fine = solve(two_by_two(), SHARES, ORDER)
    found = coarser(fine)
    assert_alike(found, solve(two_by_two(), SHARES, ORDER, COARSE_M))
    assert found.plan == fine.plan


@given(
    seed=st.integers(0, 10**6),
    count=st.integers(4, 30),
    softness=st.floats(0.0, 30.0),
    mask=st.integers(0, 2**30 - 1),
)
@settings(max_examples=100, deadline=None)
def test_where_the_search_begins_does_not_matter(
    seed: int, count: int, softness: float, mask: int
) -> None:
    bed = random_bed(seed, count, softness)
    guess = np.array([bool(mask >> k & 1) for k in range(count)])
    anew, found = settle(*bed), settle(*bed, guess)
    assert found.force_n == pytest.approx(anew.force_n, rel=1e-5, abs=1e-5 * anew.force_n.max())
