"""The linear programme of a grip against closed forms, balance and what physics demands."""

from math import cos, hypot, pi, radians, sin, tan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.mechanics.grip.cones import Wrench, force_at, friction_cones, weight_at
from api.mechanics.grip.contacts import Contacts, GripError, Patch, Vector, spread
from api.mechanics.grip.programme import NOT_HELD
from api.mechanics.grip.undercut import round_down_force
from tests.mechanics.forms.programme import largest_multiple
from tests.mechanics.forms.two_sided import (
    plate_friction_n,
    round_torsion_nm,
    slip_hold_n,
    stop_opens_at_n,
    strip_limit_moment_nm,
    strip_opening_moment_nm,
    tipping_moment_nm,
    vee_normal_n,
)
from tests.mechanics.grip_pieces import (
    CONTACT_M,
    LENGTH_M,
    SIDE_N,
    WIDTH_M,
    block,
    round_bar,
    upright_round,
    vee,
)

NO_WEIGHT = Wrench((0, 0, 0), (0, 0, 0))
MIDDLE: Vector = (WIDTH_M / 2, LENGTH_M / 2, CONTACT_M)
POINT = (0.0, 0.0)


def turning(moment_nm: Vector) -> Wrench:
    return Wrench((0, 0, 0), moment_nm)


def test_a_block_slips_along_its_faces_at_the_closed_form_with_plate_friction() -> None:
    contacts = block(0.20, 0.15, POINT)
    pressed_down = weight_at(512, MIDDLE)
    margin = largest_multiple(contacts, SIDE_N, pressed_down, force_at((0, 1, 0), MIDDLE))
    closed = slip_hold_n(0.20, SIDE_N) + plate_friction_n(0.15, 500, 12)
    assert closed == pytest.approx(3277, rel=1e-4)
    assert margin.multiple == pytest.approx(closed, rel=1e-9)


@pytest.mark.parametrize("about", [-1.0, 1.0])
def test_a_block_tips_about_either_lower_edge_at_the_closed_form(about: float) -> None:
    contacts = block(0.20, 0.0, POINT)
    margin = largest_multiple(contacts, SIDE_N, weight_at(12, MIDDLE), turning((0, about, 0)))
    assert margin.multiple == pytest.approx(80.30, rel=1e-9)
    assert margin.multiple == pytest.approx(tipping_moment_nm(0.20, SIDE_N, WIDTH_M, 12), rel=1e-9)


def strips(fixed_m: float, pressed_m: float, reach: float) -> Contacts:
    fixed = Patch((0, 0, 0), (1, 0, 0), 0.0, "fixed", fixed_m, reach=reach)
    pressed = Patch((WIDTH_M, 0, 0), (-1, 0, 0), 0.0, "pressed", pressed_m, reach=reach)
    return spread([fixed, pressed])


def test_a_3_mm_strip_without_friction_resists_tilt_by_its_pressure_alone() -> None:
    load = turning((0, 1, 0))
    closed = largest_multiple(strips(3e-3, 0, 1 / 6), SIDE_N, NO_WEIGHT, load).multiple
    limit = largest_multiple(strips(3e-3, 0, 1 / 2), SIDE_N, NO_WEIGHT, load).multiple
    assert closed == pytest.approx(4.000, rel=1e-9)
    assert closed == pytest.approx(strip_opening_moment_nm(SIDE_N, 3e-3), rel=1e-9)
    assert limit == pytest.approx(strip_limit_moment_nm(SIDE_N, 3e-3), rel=1e-9)
    both = largest_multiple(strips(3e-3, 3e-3, 1 / 6), SIDE_N, NO_WEIGHT, load).multiple
    assert both == pytest.approx(2 * closed, rel=1e-9)


def test_a_pull_away_from_the_stop_is_never_credited_with_more_than_the_push() -> None:
    pull = force_at((1, 0, 0), (0, 0, 0))
    margin = largest_multiple(strips(3e-3, 3e-3, 1 / 6), SIDE_N, NO_WEIGHT, pull)
    assert margin.multiple == pytest.approx(SIDE_N, rel=1e-9)
    assert margin.multiple < stop_opens_at_n(SIDE_N, 0.25, 1.0)


def test_a_push_into_the_stop_is_held_at_any_size() -> None:
    push = force_at((-1, 0, 0), (0, 0, 0))
    margin = largest_multiple(strips(3e-3, 3e-3, 1 / 6), SIDE_N, NO_WEIGHT, push)
    assert margin.multiple == np.inf
    assert margin.forces_n is None


def test_an_upright_round_between_flats_spins_at_the_closed_form() -> None:
    margin = largest_multiple(upright_round(0.2), SIDE_N, NO_WEIGHT, turning((0, 0, 1)))
    assert margin.multiple == pytest.approx(round_torsion_nm(0.2, SIDE_N, 0.025), rel=1e-9)
    assert margin.motion is not None
    assert np.abs(margin.motion).argmax() == 5


def test_a_bar_between_flats_rolls_at_the_closed_form() -> None:
    contacts = round_bar(0.0, 0.2, seat=False)
    margin = largest_multiple(contacts, SIDE_N, NO_WEIGHT, Wrench((0, 0, 0), (0, 1, 0)))
    assert margin.multiple == pytest.approx(round_torsion_nm(0.2, SIDE_N, 0.025), rel=1e-9)


def test_a_vee_holds_a_lift_with_the_sum_of_its_normal_forces() -> None:
    lift = force_at((0, 0, 1), (0, 0, 0))
    margin = largest_multiple(vee(0.2), SIDE_N, NO_WEIGHT, lift)
    expected = 0.2 * (SIDE_N + vee_normal_n(SIDE_N, pi / 2))
    assert margin.multiple == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("friction", [0.08, 0.12, 0.20, 0.35])
def test_undercut_faces_hold_a_lift_of_a_bar_at_the_closed_form(friction: float) -> None:
    contacts = round_bar(radians(5), friction)
    lift = force_at((0, 0, 1), (0, 0, 0.0125))
    margin = largest_multiple(contacts, SIDE_N, NO_WEIGHT, lift)
    expected = 2 * round_down_force(SIDE_N, radians(5), friction).most_n
    assert margin.multiple == pytest.approx(expected, rel=1e-9)


@given(st.floats(1, 20), st.floats(0.05, 0.6))
@settings(max_examples=30, deadline=None)
def test_a_drafted_piece_is_squeezed_out_just_where_the_closed_form_says(
    draft_deg: float, friction: float
) -> None:
    draft = radians(draft_deg)
    if abs(tan(draft) - friction) < 1e-3:
        friction += 2e-3
    contacts = round_bar(-draft, friction, seat=False)
    margin = largest_multiple(contacts, SIDE_N, NO_WEIGHT, turning((0, 0, 1)))
    squeezed_out = tan(draft) > friction
    assert (margin.reason == NOT_HELD) == squeezed_out
    assert (margin.multiple == 0) == squeezed_out


def test_a_piece_without_anything_under_its_weight_is_not_held() -> None:
    margin = largest_multiple(strips(3e-3, 3e-3, 1 / 6), SIDE_N, weight_at(5, MIDDLE), NO_WEIGHT)
    assert (margin.multiple, margin.reason) == (0.0, NOT_HELD)


def test_no_load_fits_in_any_number_of_times() -> None:
    assert largest_multiple(block(), SIDE_N, NO_WEIGHT, NO_WEIGHT).multiple == np.inf


@pytest.mark.parametrize("sides", [8, 12, 16, 24])
@pytest.mark.parametrize("angle_deg", [0, 7, 22.5, 45, 61, 90])
def test_the_polygon_of_friction_lies_within_the_circle_and_close_to_it(
    sides: int, angle_deg: float
) -> None:
    angle = radians(angle_deg)
    load = force_at((0, cos(angle), sin(angle)), (WIDTH_M / 2, 0, 0))
    contacts = spread(
        [
            Patch((0, 0, 0), (1, 0, 0), 0.2, "fixed"),
            Patch((WIDTH_M, 0, 0), (-1, 0, 0), 0.2, "pressed"),
        ]
    )
    multiple = largest_multiple(contacts, SIDE_N, NO_WEIGHT, load, sides).multiple
    circle = slip_hold_n(0.2, SIDE_N)
    assert circle * cos(pi / sides) * (1 - 1e-9) <= multiple <= circle * (1 + 1e-9)


numbers = st.floats(-1, 1)
directions = st.tuples(numbers, numbers, numbers).filter(lambda v: hypot(*v) > 0.05)
frictions = st.floats(0.05, 0.5)
sizes = st.tuples(st.floats(0.02, 0.1), st.floats(0.02, 0.1), st.floats(0.01, 0.08))
spots = st.tuples(st.floats(0, 0.05), st.floats(0, 0.036), st.floats(0, 0.04))
pushes = st.floats(500, 20_000)


def as_load(direction: Vector, spot: Vector) -> Wrench:
    return force_at((direction[0] * 1e3, direction[1] * 1e3, direction[2] * 1e3), spot)


@given(frictions, frictions, pushes, directions, spots)
@settings(max_examples=40, deadline=None)
def test_the_contact_forces_balance_stay_in_their_cones_and_push_as_told(
    friction: float, seat: float, side_n: float, direction: Vector, spot: Vector
) -> None:
    contacts, weight = block(friction, seat), weight_at(3, MIDDLE)
    load = as_load(direction, spot)
    margin = largest_multiple(contacts, side_n, weight, load)
    if margin.forces_n is None:
        assert margin.multiple == np.inf
        return
    forces, m = margin.forces_n, margin.multiple
    scale = np.abs(forces).sum()
    outer = np.add(weight.force_n, np.multiply(m, load.force_n))
    outer_moment = np.add(weight.moment_nm, np.multiply(m, load.moment_nm))
    moments = np.cross(contacts.points_m, forces).sum(axis=0)
    assert np.abs(forces.sum(axis=0) + outer).max() < 1e-9 * scale
    assert np.abs(moments + outer_moment).max() < 1e-9 * scale
    normal = np.einsum("ij,ij->i", forces, contacts.normals)
    sliding = np.linalg.norm(forces - normal[:, None] * contacts.normals, axis=1)
    assert (normal > -1e-9 * scale).all()
    assert (sliding <= contacts.friction * normal + 1e-9 * scale).all()
    pressed = forces[contacts.pressed] @ contacts.push
    assert pressed.sum() == pytest.approx(side_n, rel=1e-9)


@given(frictions, pushes, st.floats(1, 3), directions, spots)
@settings(max_examples=25, deadline=None)
def test_more_push_and_more_friction_never_hold_less(
    friction: float, side_n: float, more: float, direction: Vector, spot: Vector
) -> None:
    weight, load = weight_at(3, MIDDLE), as_load(direction, spot)
    plain = largest_multiple(block(friction), side_n, weight, load).multiple
    pushed = largest_multiple(block(friction), side_n * more, weight, load).multiple
    rough = largest_multiple(block(friction * more, 0.12 * more), side_n, weight, load).multiple
    assert pushed >= plain * (1 - 1e-7)
    assert rough >= plain * (1 - 1e-7)


@given(frictions, pushes, st.floats(0.1, 10), directions, spots)
@settings(max_examples=30, deadline=None)
def test_forces_and_lengths_may_be_measured_in_any_unit(
    friction: float, side_n: float, unit: float, direction: Vector, spot: Vector
) -> None:
    plain = largest_multiple(
        block(friction), side_n, weight_at(3, MIDDLE), as_load(direction, spot)
    ).multiple

    def longer(vector: Vector) -> Vector:
        return (vector[0] * unit, vector[1] * unit, vector[2] * unit)

    strip, size = (0.012 * unit, 0.012 * unit), longer((WIDTH_M, LENGTH_M, 0.024))
    scaled = block(friction, strip_m=strip, size_m=size, contact_m=CONTACT_M * unit)
    weight, load = weight_at(3 * unit, longer(MIDDLE)), longer(direction)
    found = largest_multiple(scaled, side_n * unit, weight, as_load(load, longer(spot)))
    assert found.multiple == pytest.approx(plain, rel=1e-6)


@given(frictions, pushes, directions, spots)
@settings(max_examples=30, deadline=None)
def test_a_grip_turned_by_90_degrees_holds_the_same(
    friction: float, side_n: float, direction: Vector, spot: Vector
) -> None:
    def turned(v: Vector) -> Vector:
        return (-v[1], v[0], v[2])

    middle = (WIDTH_M / 2, LENGTH_M / 2, 0.0)
    faces = [
        Patch((0, LENGTH_M / 2, CONTACT_M), (1, 0, 0), friction, "fixed", 0.012, 0.012),
        Patch((WIDTH_M, LENGTH_M / 2, CONTACT_M), (-1, 0, 0), friction, "pressed", 0.012, 0.012),
    ]
    seat = Patch(turned(middle), (0, 0, 1), 0.12, "seat", WIDTH_M, LENGTH_M)
    round_about = [
        Patch(turned(f.point_m), turned(f.normal), f.friction, f.kind, f.height_m, f.width_m)
        for f in faces
    ]
    plain = largest_multiple(
        block(friction), side_n, weight_at(3, MIDDLE), as_load(direction, spot)
    )
    other = largest_multiple(
        spread([*round_about, seat]),
        side_n,
        weight_at(3, turned(MIDDLE)),
        as_load(turned(direction), turned(spot)),
    )
    assert other.multiple == pytest.approx(plain.multiple, rel=1e-7)


def test_a_patch_becomes_the_points_its_pressure_can_reach() -> None:
    face = Patch((0, 0, 0.01), (1, 0, 0), 0.1, "fixed", 0.012, 0.006)
    pressed = Patch((0.05, 0, 0.01), (-1, 0, 0), 0.1, "pressed", 0.012)
    seat = Patch((0.025, 0, 0), (0, 0, 1), 0.1, "seat", 0.036, 0.05)
    contacts = spread([face, pressed, seat])
    assert len(contacts.points_m) == 4 + 2 + 4
    reach = np.ptp(contacts.points_m[:4], axis=0)
    assert reach == pytest.approx([0, 0.002, 0.004])
    assert np.ptp(contacts.points_m[6:], axis=0) == pytest.approx([0.05, 0.036, 0])
    assert contacts.pressed.sum() == 2
    assert contacts.push == pytest.approx([-1, 0, 0])


def test_a_leaning_face_still_pushes_level() -> None:
    assert round_bar(radians(5), 0.1).push == pytest.approx([-1, 0, 0])


def test_impossible_contacts_are_refused_with_what_to_change() -> None:
    with pytest.raises(GripError, match="at least one pressed"):
        spread([Patch((0, 0, 0), (1, 0, 0), 0.1, "fixed")])
    with pytest.raises(GripError, match="name the direction"):
        spread([Patch((0, 0, 0), (0, 0, 1), 0.1, "pressed")])
    with pytest.raises(GripError, match="normal"):
        Patch((0, 0, 0), (0, 0, 0), 0.1, "seat")
    with pytest.raises(GripError, match="negative"):
        Patch((0, 0, 0), (1, 0, 0), -0.1, "seat")
    with pytest.raises(GripError, match="finite"):
        Patch((0, float("nan"), 0), (1, 0, 0), 0.1, "seat")
    with pytest.raises(GripError, match="eight sides"):
        friction_cones(block(), 6)
    with pytest.raises(GripError, match="push"):
        largest_multiple(block(), -1.0, NO_WEIGHT, NO_WEIGHT)
