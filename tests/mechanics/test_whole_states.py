"""A plate on its pads with all that presses on it: what must hold whatever its numbers are."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from api.mechanics.plate.actions import Push
from api.mechanics.plate.shape import Bar, Rectangle
from api.mechanics.sequence.passes import after_change
from api.mechanics.whole.assembly import Assembly, End, Jack, Link, Site
from api.mechanics.whole.guiding import guidance
from api.mechanics.whole.planning import point_samples
from api.mechanics.whole.response import Response, State, balance_error, bonded, rest_state
from api.mechanics.whole.run import POSES, Solved, accuracy, solve
from api.mechanics.whole.sites import seats
from tests.mechanics.whole_cases import COARSE_M, Array, even, put_down, two_by_two

SHARES, ORDER = (0.5, 1.0), (0, 3, 1, 2)


def solved(assembly: Assembly, order: tuple[int, ...] = ORDER) -> Solved:
    return solve(assembly, SHARES, order, COARSE_M)


def on_base(assembly: Assembly) -> Assembly:
    return replace(assembly, receivers=replace(assembly.receivers, everywhere=True))


def locked(assembly: Assembly) -> Assembly:
    return replace(assembly, tightened_locked=True)


KINDS: dict[str, Callable[[Assembly], Assembly]] = {
    "free on pads": lambda it: it,
    "locked on pads": locked,
    "locked on a base": lambda it: on_base(locked(it)),
}


@pytest.fixture(scope="module", params=KINDS)
def found(request: pytest.FixtureRequest) -> Solved:
    return solved(KINDS[request.param](two_by_two()))


@pytest.fixture(scope="module")
def bed() -> Response:
    return put_down(two_by_two())


def test_what_one_link_opens_at_another_is_what_the_other_opens_at_it(bed: Response) -> None:
    opening = bed.on.link_loads.T @ bed.on.link_fields
    assert np.abs(opening - opening.T).max() <= 1e-10 * np.abs(opening).max()
    assert np.linalg.eigvalsh(opening).min() > 0


def test_a_link_lifts_a_point_as_a_force_there_opens_the_link(bed: Response) -> None:
    solver = bed.on.solver
    press = solver.press_loads(np.array([0.2, 0.31]), np.array([0.125, 0.05]))
    lifted = press.T @ bed.on.link_fields
    opened = (bed.on.link_loads.T @ solver.deflections(press)).T
    assert np.abs(lifted - opened).max() <= 1e-10 * np.abs(lifted).max()


def test_links_alone_are_in_balance_with_themselves(bed: Response) -> None:
    whole = np.abs(bed.on.link_loads).sum(axis=0)
    assert np.abs(bed.on.link_loads.T @ bed.on.solver.rigid).max() <= 1e-12 * whole.max()


@pytest.mark.parametrize("pose", POSES)
def test_its_rests_carry_weight_and_pull_to_nine_digits(found: Solved, pose: str) -> None:
    state = found.poses[pose]  # type: ignore[index]
    assert balance_error(found.response, state) < 1e-9
    weight_n = -float((found.response.on.solver.rigid.T @ state.load)[0])
    assert state.contact_n.sum() == pytest.approx(weight_n, rel=1e-9)


@pytest.mark.parametrize("pose", POSES)
def test_no_rest_pulls_and_none_pushes_across_a_gap(found: Solved, pose: str) -> None:
    it, state = found.response, found.poses[pose]  # type: ignore[index]
    height_m = it.loads[:, : it.contacts].T @ state.field
    gap_m = height_m + state.contact_n / it.rests.stiffness_n_m
    assert state.contact_n.min() >= -1e-6 * state.contact_n.max()
    assert gap_m.min() >= -1e-6 * np.abs(height_m).max()
    most = state.contact_n.max() * np.abs(height_m).max()
    assert np.abs(gap_m * state.contact_n).max() <= 1e-6 * most


def test_no_link_pulls(found: Solved) -> None:
    for state in found.poses.values():
        assert state.link_n.min() >= 0


def test_a_link_closes_as_far_as_its_jacks_and_no_farther(found: Solved) -> None:
    it, state = found.response, found.tightened.locked
    assert state.closing_m is not None
    unbent = it.on.coupling_m_per_n - it.on.link_loads.T @ it.on.link_fields
    opened = it.on.link_loads.T @ state.field + unbent @ state.link_n
    own = np.array([link.own_m_per_n for link in found.assembly.links])
    pressed = state.link_n > 0
    assert (opened + own * state.link_n)[pressed] == pytest.approx(
        state.closing_m[pressed], rel=1e-9
    )


def rested(it: Response, closing_m: Array) -> State:
    return rest_state(it, pulled=True, closing_m=closing_m)


def test_effects_add_up_while_the_same_rests_push() -> None:
    it = put_down(on_base(two_by_two()))
    base, one, other = 3e-5 * np.ones(4), np.array([2e-8, 0, 0, 0]), np.array([0, 0, 3e-8, 1e-8])
    states = [rested(it, base + step) for step in (0 * one, one, other, one + other)]
    assert all((state.settled.pushing == states[0].settled.pushing).all() for state in states)
    start, first, second, both = (state.field for state in states)
    added = (first - start) + (second - start)
    assert np.abs(both - start - added).max() <= 1e-6 * np.abs(added).max()


def test_bonded_fields_are_the_small_changes_of_the_whole() -> None:
    it = put_down(two_by_two())
    base, step = 3e-5 * np.ones(4), 1e-8 * np.array([1.0, -0.5, 0.2, 0.7])
    start, end = rested(it, base), rested(it, base + step)
    assert (start.settled.pushing == end.settled.pushing).all()
    fields, coupling = bonded(it, start.settled.pushing)
    own = np.array([link.own_m_per_n for link in two_by_two().links])
    change_n = end.link_n - start.link_n
    assert (np.diag(own) + coupling) @ change_n == pytest.approx(step, rel=1e-5, abs=1e-13)
    moved = end.field - start.field
    assert np.abs(fields @ change_n - moved).max() <= 1e-5 * np.abs(moved).max()


def test_a_harder_pull_leaves_less_of_the_bow() -> None:
    bows = []
    for pull_n in (8e3, 15e3, 30e3, 60e3):
        pads = replace(two_by_two().receivers, pull_n=pull_n)
        state = solved(replace(two_by_two(), receivers=pads)).poses["pressed pulled"]
        bows.append(state.field[put_down(two_by_two()).on.solver.bending.nodal_dofs[0]])
    spans = [float(np.ptp(bow)) for bow in bows]
    assert spans == sorted(spans, reverse=True)


def test_the_guide_ends_at_the_heights_of_the_whole(found: Solved) -> None:
    guide = guidance(found)
    end = found.tightened.locked if found.assembly.tightened_locked else found.tightened.free
    heights = guide.start_m + guide.bow_m_per_n @ end.link_n
    at = point_samples(found.response, found.assembly)
    # on a base heights of a few micrometres follow no slope, so there the touch's is kept
    slack_m = 4e-6 if found.assembly.receivers.everywhere else 1e-9
    assert heights == pytest.approx(np.asarray(at @ end.field), rel=1e-6, abs=slack_m)


def test_forces_of_the_passes_are_those_of_the_plate_at_rest(found: Solved) -> None:
    end = found.tightened.locked if found.assembly.tightened_locked else found.tightened.free
    jack_n = found.tightened.bed.interaction.jack_forces(end.link_n)
    assert found.tightened.run.jack_n[-1] == pytest.approx(jack_n, rel=0.01)


def test_linear_answers_pulled_down_give_the_forces_of_the_plate_pulled_down(
    found: Solved,
) -> None:
    after = after_change(found.tightened.locked_bed.interaction, found.tightened.run.spread_m)
    assert after.link_n == pytest.approx(found.tightened.locked.link_n, rel=1e-6)


def mirrored(it: Assembly) -> Assembly:
    """Left and right exchanged."""
    length_m = it.shape.length_m
    return moved(it, lambda x, y: (length_m - x, y), lambda x, y: (-x, y))


Place = Callable[[float, float], tuple[float, float]]


def moved(it: Assembly, place: Place, way: Place) -> Assembly:
    """Every place and way moved; only for moves that keep x along x."""

    def push(one: Push) -> Push:
        x_m, y_m = place(one.x_m, one.y_m)
        return replace(one, x_m=x_m, y_m=y_m, along=way(*one.along))

    def link(one: Link) -> Link:
        first, second = (End(end.anchor, way(*end.along)) for end in one.ends)
        return replace(one, pushes=tuple(map(push, one.pushes)), ends=(first, second))

    def bar(one: Bar) -> Bar:
        xs, ys = zip(
            place(one.area.x0_m, one.area.y0_m), place(one.area.x1_m, one.area.y1_m), strict=True
        )
        return replace(one, area=Rectangle(min(xs), min(ys), max(xs), max(ys)))

    def jack(one: Jack) -> Jack:
        x_m, y_m = place(one.x_m, one.y_m)
        return replace(one, x_m=x_m, y_m=y_m)

    pads = it.receivers
    x_m, y_m = zip(*map(place, pads.x_m, pads.y_m), strict=True)
    return replace(
        it,
        shape=replace(it.shape, bars=tuple(map(bar, it.shape.bars))),
        receivers=replace(pads, x_m=x_m, y_m=y_m),
        links=tuple(map(link, it.links)),
        jacks=tuple(map(jack, it.jacks)),
        points=tuple(place(*point) for point in it.points),
        sites=tuple(Site(*place(s.x_m, s.y_m), s.length_m, s.width_m) for s in it.sites),
    )


@pytest.mark.parametrize("axis", ["left and right", "front and back"])
@pytest.mark.parametrize("kind", KINDS)
def test_exchanging_sides_changes_no_force_and_no_height(kind: str, axis: str) -> None:
    it = KINDS[kind](two_by_two())
    width_m = it.shape.width_m
    turned = (
        mirrored(it)
        if axis == "left and right"
        else moved(it, lambda x, y: (x, width_m - y), lambda x, y: (x, -y))
    )
    one, other = solved(it), solved(turned)
    assert other.tightened.run.jack_n == pytest.approx(one.tightened.run.jack_n, rel=1e-6)
    for pose in POSES:
        assert other.heights_m[pose] == pytest.approx(one.heights_m[pose], rel=1e-6, abs=1e-11)


def test_an_even_plate_evenly_pressed_stays_even() -> None:
    it = put_down(even())
    for pulled in (False, True):
        state = rest_state(it, pulled=pulled, closing_m=4e-5 * np.ones(4))
        heights = point_samples(it, even()) @ state.field
        assert state.link_n == pytest.approx([state.link_n[0]] * 4, rel=1e-9)
        assert heights[:4] == pytest.approx([heights[0]] * 4, rel=1e-7)
        assert heights[4] > heights[0]


@pytest.mark.parametrize("kind", KINDS)
def test_the_numbering_of_links_and_jacks_does_not_matter(kind: str) -> None:
    it, new = KINDS[kind](two_by_two()), (2, 0, 3, 1)
    renumbered = replace(
        it,
        links=tuple(replace(it.links[k], jacks=(new.index(k),)) for k in (3, 1, 0, 2)),
        jacks=tuple(it.jacks[k] for k in new),
    )
    one, other = solved(it), solved(renumbered, tuple(new.index(k) for k in ORDER))
    assert other.tightened.run.jack_n == pytest.approx(one.tightened.run.jack_n[:, new], rel=1e-9)
    for pose in POSES:
        assert other.heights_m[pose] == pytest.approx(one.heights_m[pose], rel=1e-9, abs=1e-13)


def test_torque_twice_as_high_doubles_what_a_free_plate_bows() -> None:
    it = two_by_two()
    doubled = replace(it, jacks=tuple(replace(jack, torque_nm=20.0) for jack in it.jacks))
    one, other = solved(it), solved(doubled)
    bow, more = (
        found.heights_m["pressed lying"] - found.heights_m["touched lying"]
        for found in (one, other)
    )
    assert other.tightened.run.jack_n == pytest.approx(2 * one.tightened.run.jack_n, rel=2e-3)
    assert more == pytest.approx(2 * bow, rel=0.015, abs=2e-7)


def test_the_computation_measures_itself(found: Solved) -> None:
    fine = solve(found.assembly, SHARES, ORDER)
    checks = accuracy(fine, found)
    assert checks.residual < 1e-9
    assert checks.balance_error < 1e-9
    assert checks.grid_change < 0.02
    assert checks.contact_steps >= len(POSES)


def test_a_seat_on_a_tilted_plane_is_level_in_itself(bed: Response) -> None:
    solver = bed.on.solver
    field = solver.rigid @ np.array([1e-5, 2e-4, -3e-4])
    seat = seats(solver, (Site(0.2, 0.1, 0.05, 0.03),), field)[0]
    assert seat.lift_m == pytest.approx(1e-5 + 2e-4 * 0.2 - 3e-4 * 0.1)
    assert seat.thickness_m == -seat.lift_m
    assert (seat.turn_x_rad, seat.turn_y_rad) == pytest.approx((-3e-4, -2e-4))
    assert seat.parallelism_m == pytest.approx(2e-4 * 0.05 + 3e-4 * 0.03)
    assert seat.flatness_m < 1e-15


def test_a_seat_on_a_crown_is_as_flat_as_its_sagitta(bed: Response) -> None:
    solver, curvature = bed.on.solver, 1e-3
    (x, _), nodes = solver.bending.mesh.p, solver.bending.nodal_dofs
    field = np.zeros(solver.bending.N)
    field[nodes[0]], field[nodes[1]] = -curvature * (x - 0.2) ** 2 / 2, -curvature * (x - 0.2)
    seat = seats(solver, (Site(0.2, 0.1, 0.05, 0.03),), field)[0]
    assert seat.flatness_m == pytest.approx(curvature * 0.05**2 / 8)
    assert seat.parallelism_m < 1e-12
