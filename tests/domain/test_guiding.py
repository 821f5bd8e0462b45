"""What the bench computes of a plate that is being tightened, against its conditions and by hand."""

from __future__ import annotations

import json
from pathlib import Path
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.domain.analyses.guide import Guide
from api.domain.analyses.guiding import GuideError, Pull, Tightened, after
from api.mechanics.sequence.interaction import Interaction
from api.mechanics.sequence.ratchet import Ratchet
from tests.support.guides import guide_of, passes
from tests.vectors.make_guide import cases

VECTORS = Path(__file__).parents[1] / "vectors/guide.json"
TWO = guide_of(2, coupling=0, seed=1)


@st.composite
def tightenings(draw: st.DrawFn) -> tuple[Guide, list[Pull]]:
    guide = guide_of(
        draw(st.integers(1, 6)),
        coupling=draw(st.sampled_from([0.0, 0.3, 1.0, 4.0])),
        seed=draw(st.integers(0, 10_000)),
        twin=draw(st.booleans()),
    )
    pull = st.tuples(st.sampled_from(guide.clamps), st.sampled_from([0.3, 0.7, 1.0]))
    return guide, draw(st.lists(pull, max_size=12))


def near(found: Tightened) -> list[object]:
    fields = (found.clamp_n, found.part_n, found.spread_um, found.height_um, found.change_um)
    return [pytest.approx(values, rel=1e-7, abs=1e-7) for values in fields]


def fields_of(found: Tightened) -> list[object]:
    return [found.clamp_n, found.part_n, found.spread_um, found.height_um, found.change_um]


def two_parts_in_line(between_um_per_n: float) -> Guide:
    """Each part gives 0.01 um/N alone; both share `between` through the plate."""
    own = 0.01 + between_um_per_n
    return TWO.model_copy(
        update={
            "target_n": [1000.0, 1000.0],
            "flexibility_um_per_n": [[own, between_um_per_n], [between_um_per_n, own]],
            "bow_um_per_n": [[0.01, 0.02], [0.0, 0.0]],
            "start_um": [-3.0, 0.0],
        }
    )


def test_an_untouched_plate_stands_as_it_lies() -> None:
    found = after(TWO, [])
    assert found.clamp_n == (0.0, 0.0)
    assert list(found.height_um) == TWO.start_um
    assert found.change_um == (0.0, 0.0)


def test_a_second_clamp_takes_from_the_first_what_their_shared_flexibility_says() -> None:
    """f1 = (u1 - b f2) / (a + b) while u1 stays: 1000 N less b / (a + b) of 1000 N."""
    found = after(two_parts_in_line(0.01), [("C1", 1.0), ("C2", 1.0)])
    assert found.clamp_n == pytest.approx((500.0, 1000.0))
    assert found.change_um == pytest.approx((0.01 * 500 + 0.02 * 1000, 0.0))
    assert found.height_um == pytest.approx((22.0, 0.0))


def test_passes_bring_the_forces_up_step_by_step() -> None:
    guide = two_parts_in_line(0.01)
    losses = [1 - after(guide, passes(guide, *[1.0] * n)).clamp_n[0] / 1000 for n in (1, 2, 3)]
    assert losses == pytest.approx([1 / 2, 1 / 8, 1 / 32])


def test_a_clamp_whose_part_goes_loose_holds_nothing_and_keeps_a_gap() -> None:
    """With b = 4 a the first part would be pulled by 5000 N: it lets go, and b f2 - u1 is its gap."""
    guide = two_parts_in_line(0.04).model_copy(update={"target_n": [1000.0, 5000.0]})
    found = after(guide, [("C1", 1.0), ("C2", 1.0)])
    assert found.clamp_n == pytest.approx((0.0, 5000.0))
    assert found.spread_um == pytest.approx((0.05 * 1000, 0.05 * 5000))
    assert found.change_um[0] == pytest.approx(0.02 * 5000)


def test_a_loose_part_is_met_again_before_its_clamp_gains() -> None:
    guide = two_parts_in_line(0.04).model_copy(update={"target_n": [1000.0, 5000.0]})
    found = after(guide, [("C1", 1.0), ("C2", 1.0), ("C1", 1.0)])
    assert found.clamp_n[0] == pytest.approx(1000.0)
    assert found.spread_um[0] == pytest.approx(0.05 * 1000 + 0.04 * found.clamp_n[1])


def test_a_mover_in_the_re_check_counts_as_a_full_pull() -> None:
    guide = two_parts_in_line(0.01)
    found = after(guide, [*passes(guide, 1.0), ("C1", 1.0)])
    assert found.clamp_n == pytest.approx((1000.0, 750.0))


def test_a_clamp_the_guide_does_not_know_is_named() -> None:
    with pytest.raises(GuideError, match="no clamp C9; it has C1, C2"):
        after(TWO, [("C9", 1.0)])


def test_a_flexibility_that_is_not_positive_definite_is_refused() -> None:
    with pytest.raises(GuideError, match="no plate"):
        after(TWO.model_copy(update={"flexibility_um_per_n": [[-0.1, 0], [0, 1]]}), [("C1", 1.0)])


def test_a_clamp_that_presses_on_nothing_is_refused() -> None:
    with pytest.raises(GuideError, match="presses on nothing"):
        after(TWO.model_copy(update={"presses": [[0, 0], [0, 1]]}), [("C1", 1.0)])


@given(tightenings())
@settings(deadline=None)
def test_a_click_wrench_is_a_ratchet_so_pulling_the_same_clamp_again_changes_nothing(
    given_plate: tuple[Guide, list[Pull]],
) -> None:
    guide, pulls = given_plate
    once = after(guide, pulls)
    again = [*pulls, *pulls[-1:], *pulls[-1:]]
    lighter = [(clamp, share / 2) for clamp, share in pulls[-1:]]
    assert after(guide, again) == once
    assert after(guide, [*pulls, *lighter]) == once


@given(tightenings())
@settings(deadline=None)
def test_forces_press_or_are_nothing_and_gaps_open_only_where_nothing_presses(
    given_plate: tuple[Guide, list[Pull]],
) -> None:
    guide, pulls = given_plate
    found = after(guide, pulls)
    for i, force_n in enumerate(found.part_n):
        pushed = sum(p * u for p, u in zip(guide.presses[i], found.spread_um, strict=True))
        gives = sum(a * n for a, n in zip(guide.flexibility_um_per_n[i], found.part_n, strict=True))
        assert force_n >= 0
        if force_n > 0:
            assert gives - pushed == pytest.approx(0, abs=1e-7)
        else:
            assert gives - pushed >= -1e-7


@given(tightenings())
@settings(deadline=None)
def test_the_clamp_pulled_last_has_at_least_its_share(
    given_plate: tuple[Guide, list[Pull]],
) -> None:
    guide, pulls = given_plate
    found = after(guide, pulls)
    for clamp, share in pulls[-1:]:
        j = guide.clamps.index(clamp)
        assert found.clamp_n[j] >= share * guide.target_n[j] * (1 - 1e-9)


@given(tightenings())
@settings(deadline=None)
def test_spreads_only_grow(given_plate: tuple[Guide, list[Pull]]) -> None:
    guide, pulls = given_plate
    before = after(guide, pulls[:-1]).spread_um
    now = after(guide, pulls).spread_um
    assert all(one >= other for one, other in zip(now, before, strict=True))


@given(tightenings(), st.integers(0, 1000))
@settings(deadline=None)
def test_the_order_of_the_rows_does_not_matter(
    given_plate: tuple[Guide, list[Pull]], seed: int
) -> None:
    guide, pulls = given_plate
    clamps = Random(seed).sample(range(len(guide.clamps)), len(guide.clamps))
    parts = Random(seed + 1).sample(range(len(guide.stations)), len(guide.stations))
    mixed = guide.model_copy(
        update={
            "clamps": [guide.clamps[j] for j in clamps],
            "stations": [guide.stations[i] for i in parts],
            "points": guide.points[::-1],
            "target_n": [guide.target_n[j] for j in clamps],
            "presses": [[guide.presses[i][j] for j in clamps] for i in parts],
            "flexibility_um_per_n": [
                [guide.flexibility_um_per_n[i][k] for k in parts] for i in parts
            ],
            "bow_um_per_n": [[row[i] for i in parts] for row in guide.bow_um_per_n[::-1]],
            "start_um": guide.start_um[::-1],
        }
    )
    plain, found = after(guide, pulls), after(mixed, pulls)
    back = Tightened(
        clamp_n=tuple(found.clamp_n[clamps.index(j)] for j in range(len(clamps))),
        part_n=tuple(found.part_n[parts.index(i)] for i in range(len(parts))),
        spread_um=tuple(found.spread_um[clamps.index(j)] for j in range(len(clamps))),
        height_um=found.height_um[::-1],
        change_um=found.change_um[::-1],
    )
    assert fields_of(back) == near(plain)


@given(tightenings())
@settings(deadline=None)
def test_the_bench_ends_where_the_computation_of_the_passes_ends(
    given_plate: tuple[Guide, list[Pull]],
) -> None:
    guide, pulls = given_plate
    compliance_m_per_n = np.array(guide.flexibility_um_per_n) / 1e6
    none = np.zeros(len(guide.stations))
    ratchet = Ratchet(Interaction(none, compliance_m_per_n, np.array(guide.presses)), runs=1)
    for clamp, share in pulls:
        j = guide.clamps.index(clamp)
        ratchet.pull(np.array([j]), np.array([share * guide.target_n[j]]))
    found = after(guide, pulls)
    assert list(found.part_n) == pytest.approx(list(ratchet.link_n[0]), rel=1e-6, abs=1e-6)
    spread_um = [float(u) * 1e6 for u in ratchet.spread_m[0]]
    assert list(found.spread_um) == pytest.approx(spread_um, rel=1e-6, abs=1e-6)


def test_the_shared_vectors_are_what_is_computed() -> None:
    assert json.loads(VECTORS.read_text()) == json.loads(json.dumps(cases()))
