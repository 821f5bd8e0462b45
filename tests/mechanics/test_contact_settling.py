"""Forces that only push: on a plate put down anywhere, and on random springs."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.mechanics.contact.rests import (
    Receivers,
    contact_stiffness_pa_m,
    pulls_of,
    rests_of,
)
from api.mechanics.contact.settling import NoEquilibrium, Settled, settle
from tests.mechanics.plate_cases import Array


def random_bed(seed: int, count: int, softness: float) -> tuple[Array, Array, Array, Array]:
    """Flexibility, gaps, motions and loads of a body on springs, its weight among them."""
    random = np.random.default_rng(seed)
    at = random.uniform(-1, 1, (count, 2))
    motions = np.column_stack([np.ones(count), at])
    root = random.normal(size=(count, count))
    flexibility = softness * root @ root.T / count + np.diag(random.uniform(0.5, 2, count))
    middle = random.dirichlet(np.ones(count)) @ motions
    return flexibility, random.normal(size=count), motions, -random.uniform(1, 50) * middle


beds = st.builds(
    random_bed,
    seed=st.integers(0, 10**6),
    count=st.integers(4, 40),
    softness=st.floats(0.0, 30.0),
)


def gaps(bed: tuple[Array, Array, Array, Array], found: Settled) -> Array:
    flexibility, gap, motions, _ = bed
    return np.asarray(flexibility @ found.force_n + gap + motions @ found.rigid)


@given(bed=beds)
@settings(max_examples=150, deadline=None)
def test_no_contact_pulls_none_is_pierced_and_none_pushes_across_a_gap(
    bed: tuple[Array, Array, Array, Array],
) -> None:
    found = settle(*bed)
    gap, force = gaps(bed, found), found.force_n
    largest, widest = np.abs(force).max(), np.abs(gap).max() + np.abs(bed[1]).max()
    assert force.min() >= -1e-6 * largest
    assert gap.min() >= -1e-6 * widest
    assert np.abs(force * gap).max() <= 1e-6 * largest * widest


@given(bed=beds)
@settings(max_examples=100, deadline=None)
def test_its_forces_balance_the_load(bed: tuple[Array, Array, Array, Array]) -> None:
    found = settle(*bed)
    left = bed[2].T @ found.force_n + bed[3]
    assert np.abs(left).max() <= 1e-9 * np.abs(bed[3]).max()


@given(bed=beds, seed=st.integers(0, 1000))
@settings(max_examples=60, deadline=None)
def test_no_other_pushing_forces_in_balance_store_less_energy(
    bed: tuple[Array, Array, Array, Array], seed: int
) -> None:
    flexibility, gap, motions, _ = bed
    found = settle(*bed).force_n
    step = np.random.default_rng(seed).normal(size=len(found))
    step -= motions @ np.linalg.lstsq(motions, step, rcond=None)[0]
    room = np.where(step < -1e-12, found / np.where(step < -1e-12, -step, 1.0), np.inf).min()
    other = found + min(max(room, 0.0), 1.0) * step

    def energy(force: Array) -> float:
        return float(force @ flexibility @ force / 2 + gap @ force)

    assert energy(other) >= energy(found) - 1e-6 * abs(energy(found)) - 1e-9


@given(bed=beds)
@settings(max_examples=60, deadline=None)
def test_the_order_of_the_contacts_does_not_matter(bed: tuple[Array, Array, Array, Array]) -> None:
    flexibility, gap, motions, load = bed
    turned = np.arange(len(gap))[::-1]
    found = settle(flexibility, gap, motions, load)
    other = settle(flexibility[np.ix_(turned, turned)], gap[turned], motions[turned], load)
    tolerance = 1e-5 * np.abs(found.force_n).max()
    assert other.force_n[turned] == pytest.approx(found.force_n, abs=tolerance)


def table(x_m: list[float], y_m: list[float]) -> tuple[Array, Array, Array]:
    motions = np.column_stack([np.ones(len(x_m)), x_m, y_m])
    return np.eye(len(x_m)) * 1e-9, np.zeros(len(x_m)), motions


def test_three_legs_carry_what_levers_say() -> None:
    found = settle(*table([0.0, 1.0, 0.0], [0.0, 0.0, 1.0]), np.array([-10.0, -2.0, -3.0]))
    assert found.force_n == pytest.approx([5.0, 2.0, 3.0])


def test_equal_legs_in_a_square_share_a_middle_load_alike() -> None:
    bed = table([0.0, 1.0, 1.0, 0.0], [0.0, 0.0, 1.0, 1.0])
    found = settle(*bed, np.array([-8.0, -4.0, -4.0]))
    assert found.force_n == pytest.approx([2.0] * 4)


def test_what_balances_on_two_legs_stands_midway_between_those_it_does_not_touch() -> None:
    flexibility, _, motions = table([0.0, 1.0, 0.5, 0.5], [0.5, 0.5, 0.0, 1.0])
    gap = np.array([0.0, 0.0, 3e-6, 1e-6])  # the middle of two legs lies under the load
    found = settle(flexibility, gap, motions, np.array([-2.0, -1.0, -1.0]))
    assert found.force_n == pytest.approx([1.0, 1.0, 0.0, 0.0])
    left = flexibility @ found.force_n + gap + motions @ found.rigid
    assert left[:2] == pytest.approx([0.0, 0.0], abs=1e-15)
    assert left[2] == pytest.approx(left[3])
    assert left[2] > 0


@pytest.mark.parametrize("beside", [1.1, 1.5, 5.0])
def test_a_load_outside_its_legs_tips_it_and_the_sentence_says_what_to_do(beside: float) -> None:
    bed = table([0.0, 1.0, 1.0, 0.0], [0.0, 0.0, 1.0, 1.0])
    with pytest.raises(NoEquilibrium, match=r"^The plate tips: .*\. Spread the receivers"):
        settle(*bed, np.array([-1.0, -beside, -0.5]))


def test_a_load_just_outside_its_legs_finds_no_rest_either() -> None:
    bed = table([0.0, 1.0, 1.0, 0.0], [0.0, 0.0, 1.0, 1.0])
    with pytest.raises(NoEquilibrium, match=r"\. (Spread|Pull harder)"):
        settle(*bed, np.array([-1.0, -1.005, -0.5]))


def test_a_load_pulled_upward_has_no_rest() -> None:
    bed = table([0.0, 1.0, 1.0, 0.0], [0.0, 0.0, 1.0, 1.0])
    with pytest.raises(NoEquilibrium):
        settle(*bed, np.array([1.0, 0.5, 0.5]))


PADS = Receivers((0.1, 0.3), (0.06, 0.19), 0.020, 0.010, 15e3, everywhere=False)


def test_a_pad_stands_for_the_area_of_its_ring() -> None:
    rests = rests_of(PADS, (0.4, 0.25), 1.0)
    ring = np.pi * (0.020**2 - 0.010**2)
    assert [rests.stiffness_n_m[rests.pad == k].sum() for k in (0, 1)] == pytest.approx([ring] * 2)
    assert [rests.x_m[rests.pad == k].mean() for k in (0, 1)] == pytest.approx(PADS.x_m)
    second = (rests.stiffness_n_m * (rests.x_m - 0.1) ** 2)[rests.pad == 0].sum()
    assert second == pytest.approx(np.pi / 4 * (0.020**4 - 0.010**4), rel=0.02)


def test_a_base_touches_the_plate_all_over_and_no_pad_is_counted_beyond_its_rim() -> None:
    on_base = Receivers((0.005,), (0.12,), 0.020, 0.010, 15e3, everywhere=True)
    rests = rests_of(on_base, (0.4, 0.25), 1.0)
    assert rests.stiffness_n_m[rests.pad < 0].sum() == pytest.approx(0.4 * 0.25)
    assert rests.x_m.min() >= 0
    assert 0 < (rests.pad == 0).sum() < 48


def test_studs_pull_down_on_their_bores_by_their_pull() -> None:
    x_m, y_m, force_n = pulls_of(PADS)
    assert force_n.sum() == pytest.approx(-2 * 15e3)
    assert x_m.mean() == pytest.approx(0.2)
    assert np.hypot(x_m[:8] - 0.1, y_m[:8] - 0.06).max() < 0.010


# Two flat surfaces, a = 20 mm: 2 E* a over the ring's area, E* of aluminium on steel 55.9 GPa.
def test_a_pad_on_an_aluminium_plate_gives_as_a_rigid_ring_on_a_half_space() -> None:
    flexibility = (1 - 0.33**2) / 69e9 + (1 - 0.29**2) / 205e9
    found = contact_stiffness_pa_m(PADS, 69e9, 0.33)
    assert found == pytest.approx(2 * 0.020 / flexibility / (np.pi * 3e-4), rel=1e-12)
    assert found / 1e9 == pytest.approx(2443, rel=0.01)
