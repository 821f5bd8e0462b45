"""Margins over positions, directions and modes, against brute force by linear programmes."""

from dataclasses import replace
from itertools import product
from math import cos, hypot, isinf, pi, radians, sin

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.mechanics.grip.cones import Wrench, force_at, weight_at
from api.mechanics.grip.contacts import Contacts, GripError, Patch, Vector, spread
from api.mechanics.grip.facets import Holdable, holdable
from api.mechanics.grip.margins import margins
from api.mechanics.grip.programme import NOT_HELD
from api.mechanics.grip.tool_load import ToolLoad
from tests.mechanics.forms.programme import largest_multiple
from tests.mechanics.forms.two_sided import slip_hold_n
from tests.mechanics.grip_pieces import (
    CONTACT_M,
    CORNERS,
    HEIGHT_M,
    LENGTH_M,
    SIDE_N,
    WIDTH_M,
    block,
    round_bar,
    upright_round,
    vee,
)

MIDDLE: Vector = (WIDTH_M / 2, LENGTH_M / 2, CONTACT_M)
WEIGHT = weight_at(2.0, MIDDLE)
SIDE_CUT = ToolLoad(600, 300, 0, 5)
AROUND: list[Vector] = [(0.012 * cos(a), 0.012 * sin(a), 0.03) for a in (0.3, 1.9, 3.3, 4.7)]
NINE: list[Vector] = [
    (x, y, HEIGHT_M) for x in (0, WIDTH_M / 2, WIDTH_M) for y in (0, LENGTH_M / 2, LENGTH_M)
]
GRIPS = {
    "block": (block(), CORNERS[1:3]),
    "bar": (round_bar(0.0, 0.2), AROUND[:2]),
    "undercut bar": (round_bar(radians(8), 0.12), AROUND[:2]),
    "upright round": (upright_round(0.2), AROUND[:2]),
    "vee": (vee(0.2), AROUND[:2]),
}


def brute_force(
    contacts: Contacts, side_n: float, load: ToolLoad, positions: list[Vector], directions: int
) -> float:
    """The least multiple over sampled directions, every case and position."""
    found = []
    turns = 2 * pi * np.arange(directions) / directions if load.level_n else [0.0]
    for position, turn, axial, torque in product(
        positions, turns, {load.up_n, -load.down_n}, {0.0, load.torque_nm}
    ):
        level = (load.level_n * cos(turn), load.level_n * sin(turn), axial)
        wrench = force_at(level, position, (0, 0, -torque))
        found.append(largest_multiple(contacts, side_n, WEIGHT, wrench).multiple)
    return min(found)


def slow(hold: Holdable) -> Holdable:
    """The same grip without facets: everything by linear programmes."""
    return Holdable(replace(hold.whole, facets=None), replace(hold.forces, facets=None))


@pytest.mark.parametrize("name", GRIPS)
def test_the_least_margin_is_that_of_a_brute_force_over_directions(name: str) -> None:
    contacts, positions = GRIPS[name]
    found = margins(holdable(contacts), SIDE_N, WEIGHT, SIDE_CUT, positions)
    brute = brute_force(contacts, SIDE_N, SIDE_CUT, positions, 8)
    assert brute * cos(pi / 8) * (1 - 1e-6) <= found.tip <= brute * (1 + 1e-6)
    assert found.worst is not None
    assert brute_force_at_worst(contacts, found.worst.direction_rad, positions) == pytest.approx(
        found.tip, rel=1e-6
    )


def brute_force_at_worst(contacts: Contacts, turn: float, positions: list[Vector]) -> float:
    level_n, axial = SIDE_CUT.level_n, (SIDE_CUT.up_n, 0.0)
    return min(
        largest_multiple(
            contacts,
            SIDE_N,
            WEIGHT,
            force_at((level_n * cos(turn), level_n * sin(turn), a), p, (0, 0, -t)),
        ).multiple
        for p, a, t in product(positions, axial, (0.0, SIDE_CUT.torque_nm))
    )


@pytest.mark.parametrize("name", ["block", "undercut bar"])
def test_margins_without_facets_are_the_same_within_the_polygon_of_directions(name: str) -> None:
    contacts, positions = GRIPS[name]
    hold = holdable(contacts)
    fast = margins(hold, SIDE_N, WEIGHT, SIDE_CUT, positions)
    by_programmes = margins(slow(hold), SIDE_N, WEIGHT, SIDE_CUT, positions)
    assert by_programmes.lift == pytest.approx(fast.lift, rel=1e-6)
    for exact, sampled in ((fast.slip, by_programmes.slip), (fast.tip, by_programmes.tip)):
        assert exact * cos(pi / 16) * (1 - 1e-6) <= sampled <= exact * (1 + 1e-6)


def test_positions_between_the_corners_are_never_worse() -> None:
    hold = holdable(block())
    corners = margins(hold, SIDE_N, WEIGHT, SIDE_CUT, CORNERS)
    nine = margins(hold, SIDE_N, WEIGHT, SIDE_CUT, NINE)
    assert nine.overall == pytest.approx(corners.overall, rel=1e-9)


frictions = st.floats(0.06, 0.5)


turns = st.floats(0, 2 * pi)
shares = st.floats(0, 1)


@given(
    frictions,
    st.floats(500, 20_000),
    st.tuples(st.floats(10, 2000), st.floats(0, 800), st.floats(0, 200), st.floats(0, 10)),
    st.tuples(turns, shares, shares, shares, shares),
)
@settings(max_examples=20, deadline=None)
def test_no_part_of_the_load_at_no_place_between_the_corners_fits_less_often(
    friction: float,
    side_n: float,
    parts: tuple[float, float, float, float],
    some: tuple[float, float, float, float, float],
) -> None:
    contacts, load = block(friction, 0.1), ToolLoad(*parts)
    found = margins(holdable(contacts, 8), side_n, WEIGHT, load, CORNERS)
    turn, x, y, axial, twist = some
    force = (
        load.level_n * cos(turn),
        load.level_n * sin(turn),
        axial * load.up_n - (1 - axial) * load.down_n,
    )
    inside = (x * WIDTH_M, y * LENGTH_M, HEIGHT_M)
    wrench = force_at(force, inside, (0, 0, -twist * load.torque_nm))
    any_case = largest_multiple(contacts, side_n, WEIGHT, wrench, 8).multiple
    assert found.overall == min(found.slip, found.lift, found.tip)
    assert found.tip <= found.slip * (1 + 1e-9)
    assert found.tip <= any_case * (1 + 1e-6)


@given(frictions, st.floats(1000, 15_000), st.floats(1.01, 3))
@settings(max_examples=10, deadline=None)
def test_more_push_never_lowers_a_margin_and_a_larger_load_lowers_all_alike(
    friction: float, side_n: float, more: float
) -> None:
    hold, no_weight = holdable(block(friction), 8), Wrench((0, 0, 0), (0, 0, 0))
    found = margins(hold, side_n, no_weight, SIDE_CUT, CORNERS)
    pushed = margins(hold, side_n * more, no_weight, SIDE_CUT, CORNERS)
    heavier = ToolLoad(600 * more, 300 * more, 0, 5 * more)
    loaded = margins(hold, side_n * more, no_weight, heavier, CORNERS)
    for kind in ("slip", "lift", "tip", "overall"):
        assert getattr(pushed, kind) >= getattr(found, kind) * (1 - 1e-9)
        assert getattr(loaded, kind) == pytest.approx(getattr(found, kind), rel=1e-6)


def test_slip_is_the_closed_form_whatever_the_height_of_the_tool() -> None:
    """Worst a little toward the clamp, which eases the fixed face: 2 μ S / sqrt(1 + μ²)."""
    load = ToolLoad(600)
    contacts = block(0.2, 0.0)
    found = margins(holdable(contacts), SIDE_N, weight_at(0, MIDDLE), load, [(0.0, 0.0, 0.5)])
    circle = slip_hold_n(0.2, SIDE_N) / 600
    assert found.slip == pytest.approx(circle / hypot(1, 0.2), rel=1e-9)
    assert found.tip < 0.2 * found.slip


def test_a_low_cut_through_the_contacts_slips_and_a_high_one_tips() -> None:
    hold = holdable(block(0.2, 0.0))
    load = ToolLoad(600)
    low = margins(hold, SIDE_N, WEIGHT, load, [MIDDLE])
    high = margins(hold, SIDE_N, WEIGHT, load, [(WIDTH_M / 2, LENGTH_M / 2, 0.08)])
    assert low.mode == "slip"
    assert high.mode == "tip"
    assert high.overall < low.overall


def test_the_worst_direction_of_a_high_cut_is_across_the_short_strip() -> None:
    found = margins(holdable(block()), SIDE_N, WEIGHT, ToolLoad(600), [(0.025, 0.018, 0.08)])
    assert found.worst is not None
    assert abs(cos(found.worst.direction_rad)) == pytest.approx(0, abs=0.05)
    assert found.mode == "tip"


def test_a_pull_of_the_helix_at_a_corner_lifts() -> None:
    found = margins(holdable(block()), SIDE_N, WEIGHT, ToolLoad(20, up_n=800), CORNERS)
    assert found.mode == "lift"
    assert found.worst is not None
    assert found.worst.axial_n == 800
    assert found.slip > 1.05 * found.overall


def test_a_drill_in_the_middle_spins_the_piece() -> None:
    load = ToolLoad(0, 0, down_n=300, torque_nm=20)
    found = margins(holdable(block()), SIDE_N, WEIGHT, load, [(0.025, 0.018, HEIGHT_M)])
    assert found.mode == "turn"
    assert isinf(found.lift)
    assert found.worst is not None
    assert found.worst.torque_nm == 20


def test_down_force_alone_inside_the_seat_moves_nothing() -> None:
    found = margins(holdable(block()), SIDE_N, WEIGHT, ToolLoad(0, down_n=500), [MIDDLE])
    assert isinf(found.overall)
    assert (found.mode, found.worst, found.reason) == (None, None, None)


def test_down_force_beside_the_seat_tips() -> None:
    outside: Vector = (WIDTH_M + 0.02, LENGTH_M / 2, HEIGHT_M)
    found = margins(holdable(block()), SIDE_N, WEIGHT, ToolLoad(0, down_n=500), [outside])
    assert not isinf(found.tip)
    assert isinf(found.lift)
    assert found.mode == "tip"


def test_a_drafted_piece_that_is_squeezed_out_has_no_margin_and_a_reason() -> None:
    hold = holdable(round_bar(-radians(15), 0.15, seat=False))
    for way in (hold, slow(hold)):
        found = margins(way, SIDE_N, Wrench((0, 0, 0), (0, 0, 0)), SIDE_CUT, AROUND)
        assert (found.overall, found.reason, found.mode) == (0.0, NOT_HELD, None)


def test_an_undercut_holds_a_bar_against_lift_better_than_flats() -> None:
    load, above = ToolLoad(0, up_n=500), [(0.0, 0.0, 0.025)]
    flat = margins(holdable(round_bar(0.0, 0.12)), SIDE_N, WEIGHT, load, above)
    under = margins(holdable(round_bar(radians(8), 0.12)), SIDE_N, WEIGHT, load, above)
    assert under.lift > 1.5 * flat.lift


def test_contact_forces_at_the_margin_balance_the_worst_load() -> None:
    contacts = block()
    found = margins(holdable(contacts), SIDE_N, WEIGHT, SIDE_CUT, CORNERS)
    assert found.worst is not None
    assert found.forces_n is not None
    worst, m = found.worst, found.overall
    turn = worst.direction_rad
    force = np.array([600 * cos(turn), 600 * sin(turn), worst.axial_n]) * m
    total = found.forces_n.sum(axis=0) + force + WEIGHT.force_n
    moment = np.cross(contacts.points_m, found.forces_n).sum(axis=0)
    moment += np.cross(worst.position_m, force) + WEIGHT.moment_nm
    moment[2] -= m * worst.torque_nm
    assert np.abs(total).max() < 1e-9 * SIDE_N
    assert np.abs(moment).max() < 1e-9 * SIDE_N


def test_a_grip_on_two_points_cannot_resist_a_spin_about_their_line() -> None:
    contacts = spread(
        [
            Patch((0, 0, 0), (1, 0, 0), 0.2, "fixed"),
            Patch((0.05, 0, 0), (-1, 0, 0), 0.2, "pressed"),
        ]
    )
    hold = holdable(contacts)
    assert hold.whole.facets is None
    weightless = Wrench((0, 0, 0), (0, 0, 0))
    found = margins(hold, SIDE_N, weightless, ToolLoad(100), [(0.025, 0, 0.01)])
    assert found.tip == pytest.approx(0, abs=1e-6)
    exact = slip_hold_n(0.2, SIDE_N) / 100 / hypot(1, 0.2)
    assert found.slip == pytest.approx(exact, rel=1e-9)


def test_impossible_loads_and_missing_positions_are_refused() -> None:
    with pytest.raises(GripError, match="not negative"):
        ToolLoad(-1.0)
    with pytest.raises(GripError, match="position"):
        margins(holdable(block(), 8), SIDE_N, WEIGHT, SIDE_CUT, [])


def test_the_worst_direction_on_two_points_is_where_their_closed_form_has_it() -> None:
    """Both faces share a middle load, the fixed one is eased: 2 μ S / sqrt(1 + 4 μ²)."""
    hold = holdable(block(0.2, 0.0, (0.0, 0.0)))
    found = margins(hold, SIDE_N, WEIGHT, ToolLoad(600), [MIDDLE])
    steep = hypot(1, 2 * 0.2)
    assert found.tip == pytest.approx(slip_hold_n(0.2, SIDE_N) / steep / 600, rel=1e-9)
    assert found.worst is not None
    turn = found.worst.direction_rad
    assert (cos(turn), abs(sin(turn))) == pytest.approx((0.4 / steep, 1 / steep))
