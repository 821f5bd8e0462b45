"""What must hold for every cone and wedge that can be built, and what is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from api.mechanics.screws.sizes import THREADS
from api.mechanics.screws.values import ImpossibleInput
from api.mechanics.side_force.cone import Cone
from api.mechanics.side_force.forces import Frictions
from api.mechanics.side_force.spreading import Spreading
from api.mechanics.side_force.twin import Twin
from api.mechanics.side_force.wedge import Wedge
from tests.mechanics.forms.screws import efficiency

M12 = THREADS["M12"]
NONE = Frictions.same(0.0)
FACES = ("thread", "head", "face", "base")


@st.composite
def devices(draw: st.DrawFn) -> Spreading:
    thread = THREADS[draw(st.sampled_from(sorted(THREADS)))]
    angle = math.radians(draw(st.floats(1, 60)))
    match draw(st.sampled_from(["cone", "wedge", "twin"])):
        case "cone":
            return Cone(thread, angle, draw(st.floats(0.4, 2)) * thread.d_m)
        case "wedge":
            return Wedge(thread, angle)
        case _:
            return Twin(thread, angle)


frictions = st.builds(Frictions, *[st.floats(0.02, 0.5)] * 4)


def works(device: Spreading, friction: Frictions) -> bool:
    try:
        device.gain(friction)
    except ImpossibleInput:
        return False
    return True


@given(devices(), st.floats(0.1, 200), frictions)
def test_torque_and_side_force_are_inverse(
    device: Spreading, torque: float, friction: Frictions
) -> None:
    assume(works(device, friction))
    side = device.side_force(torque, friction).side_n
    assert device.torque_nm(side, friction) == pytest.approx(torque)
    assert 0 < efficiency(device, torque, friction) < 1


@given(devices(), st.floats(0.1, 200), st.floats(0, 50), frictions)
def test_more_torque_never_gives_less_side_force(
    device: Spreading, torque: float, more: float, friction: Frictions
) -> None:
    assume(works(device, friction))
    low, high = (device.side_force(each, friction) for each in (torque, torque + more))
    assert high.side_n >= low.side_n
    assert high.screw_n is not None and low.screw_n is not None
    assert high.screw_n >= low.screw_n


@given(
    devices(),
    st.floats(0.1, 200),
    frictions,
    st.sampled_from(FACES),
    st.floats(0.0, 0.2),
)
def test_more_friction_on_any_face_never_gives_more_side_force(
    device: Spreading, torque: float, friction: Frictions, face: str, more: float
) -> None:
    values = {each: getattr(friction, each) for each in FACES}
    rougher = Frictions(**{**values, face: values[face] + more})
    assume(works(device, rougher))
    smooth = device.side_force(torque, friction).side_n
    assert device.side_force(torque, rougher).side_n <= smooth * (1 + 1e-12)


@given(devices(), st.floats(0.1, 200))
def test_without_friction_all_work_reaches_the_jaws(device: Spreading, torque: float) -> None:
    assert efficiency(device, torque, NONE) == pytest.approx(1)


@given(devices(), frictions)
def test_wedges_hold_a_share_between_nothing_and_all(
    device: Spreading, friction: Frictions
) -> None:
    assume(isinstance(device, Wedge | Twin) and works(device, friction))
    assert isinstance(device, Wedge | Twin)
    assert 0 <= device.held_share(friction) < 1


@given(devices(), st.floats(0.1, 200), frictions, st.floats(1.1, 10))
def test_a_larger_copy_gives_less_force_for_the_same_torque(
    device: Spreading, torque: float, friction: Frictions, scale: float
) -> None:
    """All lengths times s: the force falls by s, for a torque is a force times a length."""
    assume(works(device, friction))
    small = device.thread
    large = type(small)(
        "copy", small.d_m * scale, small.pitch_m * scale, small.bearing_m * scale, small.inch
    )
    if isinstance(device, Cone):
        copy: Spreading = Cone(large, device.angle_rad, device.radius_m * scale)
    else:
        copy = type(device)(large, device.angle_rad)
    side = device.side_force(torque, friction).side_n
    assert copy.side_force(torque, friction).side_n * scale == pytest.approx(side)


@pytest.mark.parametrize("kind", [Wedge, Twin])
@pytest.mark.parametrize("angle_deg", [0.0, -5.0, 83.2, 90.0, math.nan])
def test_a_wedge_too_steep_for_its_friction_is_refused(
    kind: type[Wedge | Twin], angle_deg: float
) -> None:
    with pytest.raises(ImpossibleInput, match="below 90 degrees; give a smaller angle"):
        kind(M12, math.radians(angle_deg)).side_force(10, Frictions.same(0.12, base=0.0))


def test_a_wedge_or_cone_that_jams_on_its_base_is_refused() -> None:
    steep, rough = math.radians(60), Frictions.same(0.3)
    with pytest.raises(ImpossibleInput, match="the wedge jams and presses nothing sideways"):
        Wedge(M12, steep).side_force(10, rough)
    with pytest.raises(ImpossibleInput, match="the cone jams and presses nothing sideways"):
        Cone(M12, math.radians(85), 8e-3).side_force(10, rough)
    assert Twin(M12, steep).side_force(10, rough).side_n > 0


def test_one_impossible_value_among_many_is_refused() -> None:
    wedge, mu = Wedge(M12, math.radians(60)), np.array([0.1, 0.3])
    assert wedge.side_force(10, Frictions.same(float(mu[0]))).side_n > 0
    with pytest.raises(ImpossibleInput, match="jams"):
        wedge.side_force(10, Frictions.same(mu))


@pytest.mark.parametrize(
    ("face", "says"),
    [
        ("thread", "friction of the thread"),
        ("head", "friction of the head"),
        ("face", "friction of the wedge or cone"),
        ("base", "friction of the jaw on its base"),
    ],
)
@pytest.mark.parametrize("wrong", [-0.1, math.nan])
def test_an_impossible_friction_is_named(face: str, says: str, wrong: float) -> None:
    with pytest.raises(ImpossibleInput, match=says):
        Frictions(**{**dict.fromkeys(FACES, 0.12), face: wrong})


def test_a_negative_torque_side_force_or_slot_is_refused() -> None:
    wedge, usual = Wedge(M12, math.radians(15)), Frictions.same(0.12)
    with pytest.raises(ImpossibleInput, match="torque"):
        wedge.side_force(-1, usual)
    with pytest.raises(ImpossibleInput, match="side force"):
        wedge.torque_nm(-1, usual)
    with pytest.raises(ImpossibleInput, match="bends the jaws"):
        Wedge(M12, math.radians(15), slot_n=-1)
