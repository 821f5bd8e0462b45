"""What a cut asks of the grip, drills, and the table of specific forces."""

from dataclasses import replace
from math import cos, hypot, pi, radians, sin, tan

import pytest

from api.mechanics.cutting import loads
from api.mechanics.cutting.drills import (
    DrillCut,
    drill_power_w,
    drill_thrust_n,
    drill_torque_nm,
)
from api.mechanics.cutting.kienzle import specific_force_pa
from api.mechanics.cutting.loads import cut_load
from api.mechanics.cutting.materials import GROUPS, KC_SPREAD_NOTE, specific_force
from api.mechanics.cutting.mills import CutError, MillCut

SIDE = MillCut("side", 16e-3, 4, 12e-3, 4e-3, 0.08e-3, pi / 2, 800e6, 0.25)
FACE = MillCut("face", 50e-3, 5, 2e-3, 35e-3, 0.2e-3, pi / 4, 1675e6, 0.24, worn=1.3)
SLOT = MillCut("slot", 12e-3, 4, 12e-3, 12e-3, 0.05e-3, pi / 2, 2150e6, 0.20, worn=1.3)
DRILL = DrillCut(10e-3, 2, 0.1e-3, 1500e6, 0.22)


def test_a_side_cut_asks_its_peak_with_the_radial_share_and_lifts_by_an_assumed_helix() -> None:
    load = cut_load(SIDE, 5.0)
    assert load.horizontal_n == pytest.approx(1296.393 * hypot(1, 0.4), rel=5e-5)
    assert 3200 / load.horizontal_n == pytest.approx(2.292, rel=2e-4)
    assert load.up_n == pytest.approx(1296.393 * tan(radians(30)), rel=5e-5)
    assert load.down_n == 0
    assert load.torque_nm == 0
    assert load.power_w == pytest.approx(2764.86, rel=5e-5)
    assert load.assumed == (
        KC_SPREAD_NOTE,
        loads.NORMAL_ASSUMED,
        loads.HELIX_ASSUMED,
        loads.SIDE_ASSUMED,
    )
    assert load.notes == ()


def test_a_known_helix_smooths_the_peak_and_lifts_by_its_own_angle() -> None:
    load = cut_load(replace(SIDE, helix_rad=radians(38)))
    assert load.tangential_n == pytest.approx(717.1, rel=2.5e-3)
    assert load.up_n == pytest.approx(load.tangential_n * tan(radians(38)), rel=1e-12)
    assert load.up_n == pytest.approx(560.2, rel=2.5e-3)
    assert 3200 / (load.tangential_n * hypot(1, 0.4)) == pytest.approx(4.143, rel=2.5e-3)
    assert load.horizontal_n <= load.tangential_n * hypot(1, 0.4)
    assert loads.HELIX_ASSUMED not in load.assumed


def test_straight_edges_do_not_lift() -> None:
    assert cut_load(replace(SIDE, helix_rad=0.0)).up_n == 0


def test_a_face_mill_presses_with_its_lead_angle_and_does_not_lift() -> None:
    load = cut_load(FACE)
    assert load.up_n == 0
    assert load.down_n == pytest.approx(2371.223 * 0.4 * cos(pi / 4), rel=5e-5)
    assert load.torque_nm == pytest.approx(2371.223 * 0.025, rel=5e-5)
    assert load.horizontal_n <= load.tangential_n * hypot(1, 0.4 * sin(pi / 4)) + 1e-9
    assert loads.FACE_ASSUMED in load.assumed
    assert load.power_w is None


def test_a_square_face_mill_neither_presses_nor_lifts_unless_it_has_a_helix() -> None:
    square = replace(FACE, lead_rad=pi / 2)
    assert (cut_load(square).up_n, cut_load(square).down_n) == (0, 0)
    assert cut_load(replace(square, helix_rad=radians(30))).up_n > 0


def test_a_full_slot_and_a_thin_chip_are_noted() -> None:
    assert cut_load(SLOT).notes == (loads.FULL_SLOT_NOTE,)
    assert cut_load(replace(SIDE, feed_m=0.03e-3)).notes == (loads.THIN_CHIP_NOTE,)


def test_a_drill_of_two_lips_has_the_textbook_torque_and_thrust() -> None:
    kc = specific_force_pa(0.1e-3 * sin(radians(59)), 1500e6, 0.22)
    feed_m = 0.2e-3
    torque_nm = 10e-3**2 * feed_m * kc / 8
    assert drill_torque_nm(DRILL) == pytest.approx(torque_nm, rel=1e-12)
    assert drill_thrust_n(DRILL) == pytest.approx(
        10e-3 * feed_m * kc * sin(radians(59)) / 2, rel=1e-12
    )
    speed_m_s = 80 / 60
    assert drill_power_w(DRILL, speed_m_s) == pytest.approx(
        10e-3 * feed_m * speed_m_s * kc / 4, rel=1e-12
    )


def test_a_drill_presses_turns_and_lifts_at_break_through() -> None:
    load = cut_load(DRILL, 80 / 60)
    assert load.horizontal_n == 0
    assert load.down_n == drill_thrust_n(DRILL)
    assert load.up_n == pytest.approx(0.5 * load.down_n)
    assert load.torque_nm == drill_torque_nm(DRILL)
    assert load.power_w == pytest.approx(drill_power_w(DRILL, 80 / 60))
    assert load.assumed == (KC_SPREAD_NOTE, loads.THRUST_ASSUMED, loads.BREAK_THROUGH_ASSUMED)


def test_a_drill_without_a_lip_or_with_no_feed_is_refused() -> None:
    with pytest.raises(CutError, match="at least one lip"):
        replace(DRILL, lips=0)
    with pytest.raises(CutError, match="above 0"):
        replace(DRILL, feed_m=0.0)
    with pytest.raises(CutError, match="Lip angle"):
        replace(DRILL, lip_rad=0.0)


def test_something_that_is_no_cut_has_no_load() -> None:
    with pytest.raises(TypeError, match="str"):
        cut_load("face")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("group", "kc11_mpa", "mc"),
    [("N22", 800, 0.25), ("P7", 1675, 0.24), ("M14", 2150, 0.20), ("K20", 1420, 0.30)],
)
def test_a_material_group_has_its_specific_force(group: str, kc11_mpa: float, mc: float) -> None:
    row = specific_force(group)
    assert row.kc11_pa / 1e6 == pytest.approx(kc11_mpa)
    assert row.mc == mc
    assert row.source


def test_titanium_has_two_editions_and_the_higher_one_is_used() -> None:
    for group, ratio in (("S36", 1.47), ("S37", 1.69)):
        old, new = specific_force(group, 2017), specific_force(group, 2022)
        assert old.kc11_pa / new.kc11_pa == pytest.approx(ratio, abs=0.006)
        assert specific_force(group) == old


def test_an_unknown_group_or_edition_is_answered_with_those_that_exist() -> None:
    with pytest.raises(KeyError, match="N22"):
        specific_force("N99")
    with pytest.raises(KeyError, match="edition of 2005"):
        specific_force("S36", 2005)


def test_every_group_of_metals_is_there_once_per_edition() -> None:
    numbered = [row.group for row in GROUPS if row.edition in (None, 2017)]
    letters = dict.fromkeys(range(1, 14), "P") | {14: "M"} | dict.fromkeys(range(15, 21), "K")
    letters |= dict.fromkeys(range(21, 29), "N") | dict.fromkeys(range(31, 38), "S")
    letters |= dict.fromkeys(range(38, 42), "H")
    assert numbered[:-1] == [f"{letter}{number}" for number, letter in letters.items()]


# Specific force at 0.1 mm feed per tooth by an older handbook table.
KC_AT_TENTH_MM_PA = {
    "aluminium-magnesium": 580e6,
    "aluminium-silicon": 700e6,
    "aluminium-zinc": 880e6,
    "mild steel": 2200e6,
}


def test_the_law_agrees_with_the_older_handbook_for_mild_steel_and_is_higher_for_aluminium() -> (
    None
):
    steel = specific_force("P1")
    at_tenth = specific_force_pa(0.1e-3, steel.kc11_pa, steel.mc)
    assert at_tenth == pytest.approx(KC_AT_TENTH_MM_PA["mild steel"], rel=0.01)
    soft, hard = specific_force("N21"), specific_force("N22")
    alloys = [("aluminium-magnesium", soft), ("aluminium-silicon", soft), ("aluminium-zinc", hard)]
    for alloy, row in alloys:
        ratio = specific_force_pa(0.1e-3, row.kc11_pa, row.mc) / KC_AT_TENTH_MM_PA[alloy]
        assert 1.5 < ratio < 2.2
    stainless = specific_force("M14")
    assert specific_force_pa(0.1e-3, stainless.kc11_pa, stainless.mc) > 2030e6
