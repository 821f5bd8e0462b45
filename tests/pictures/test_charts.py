"""Forces, readings, hold and order: marks where the numbers put them, told by shape and word."""

from __future__ import annotations

from xml.etree.ElementTree import Element

import pytest

from api.domain.analyses.result import Band, Hold, Result
from api.domain.designs import Design
from api.domain.designs.drawing import draw
from api.pictures.forces import forces
from api.pictures.grips import grips
from api.pictures.order import order_on_plan
from api.pictures.readings import readings
from tests.pictures.reading import ALLOWED, SVG, number, of_class, parsed, places, texts
from tests.support.analyses import ORDER, SIDE_N, sad_20


@pytest.fixture(scope="module")
def design() -> Design:
    return sad_20()[0]


@pytest.fixture(scope="module")
def result() -> Result:
    return sad_20()[1].result


def test_every_picture_is_well_formed_has_words_for_it_and_leaves_its_look_to_the_style_sheet(
    design: Design, result: Result
) -> None:
    for picture in (
        forces(result),
        readings(result),
        grips(result),
        order_on_plan(design, result, draw(design)),
    ):
        root = parsed(picture)
        assert [each.tag for each in root][:2] == [f"{SVG}title", f"{SVG}desc"]
        assert all(root[k].text for k in (0, 1))
        for each in root.iter():
            assert each.tag.removeprefix(SVG) in ALLOWED
            assert not {"style", "fill", "stroke", "href"} & set(each.attrib)


def test_a_force_stands_as_high_as_it_is(result: Result) -> None:
    root = parsed(forces(result))
    ground = height_of(of_class(root, "zero")[0])
    asked = [ground - height_of(dash) for dash in of_class(root, "asked")]
    per_newton = asked[2] / SIDE_N.usual
    expected = [force for name in ORDER for force in result.clamps[name].after_pass_n]
    found = [(ground - number(dot, "cy")) / per_newton for dot in of_class(root, "dot")]
    assert found == pytest.approx(expected, abs=25)
    assert asked[:4] == pytest.approx([part * asked[2] for part in (0.3, 0.7, 1, 1)], abs=0.05)


def height_of(path: Element) -> float:
    return places(path)[0][1]


def test_each_clamp_is_told_by_name_with_what_it_keeps(result: Result) -> None:
    root = parsed(forces(result))
    assert texts(root, "name") == ORDER
    assert texts(root, "value")[:2] == ["4.97", "91 %"]


def test_many_clamps_go_into_rows_and_none_is_left_out(result: Result) -> None:
    names = [f"C{count}" for count in range(1, 61)]
    many = result.model_copy(
        update={"clamps": dict.fromkeys(names, result.clamps["C1"]), "order": names}
    )
    root = parsed(forces(many))
    assert texts(root, "name") == names
    assert len(of_class(root, "locked")) == 60
    places_of_names = [number(each, "x") for each in of_class(root, "name")]
    assert max(places_of_names) < 760


def test_a_reading_s_band_lies_to_scale_between_its_limits(result: Result) -> None:
    root = parsed(readings(result))
    low, high = (places(limit)[0][0] for limit in of_class(root, "limit"))
    per_um = (high - low) / 100
    band, dot = of_class(root, "band")[0], of_class(root, "dot")[0]
    assert number(band, "x") == pytest.approx(low + (38.1 + 50) * per_um, abs=0.02)
    assert number(band, "width") == pytest.approx((81.6 - 38.1) * per_um, abs=0.02)
    assert number(dot, "cx") == pytest.approx(low + (57.4 + 50) * per_um, abs=0.02)
    assert "38 to 82 µm" in texts(root, "value")
    assert texts(root, "says") == ["undecided, limits \u221250 to 50"]


def test_a_reading_beyond_its_limit_is_told_by_a_triangle_and_a_word(result: Result) -> None:
    point = result.points["A"].model_copy(
        update={"reading_um": Band(low=70, usual=80, high=90), "verdict": "beyond"}
    )
    root = parsed(readings(result.model_copy(update={"points": {"A": point}})))
    assert texts(root, "beyond") == ["\u25b2 beyond, limits \u221250 to 50"]


def test_a_bar_ends_at_the_least_hold_and_names_how_the_part_goes(result: Result) -> None:
    root = parsed(grips(result))
    once, twice = (places(of_class(root, css)[0])[0][0] for css in ("limit", "advised"))
    bars = [number(bar, "width") for bar in of_class(root, "margin")]
    least = [min(s.hold.slip or 99, s.hold.lift or 99) for s in result.stations.values()]
    assert bars == pytest.approx([margin * (twice - once) for margin in least], abs=0.05)
    assert texts(root, "value")[0] == "1.08, lift, dovetail slot"
    assert not of_class(root, "short")


def test_a_part_that_the_cut_would_move_is_told_by_a_triangle(result: Result) -> None:
    weak = result.stations["P1"].model_copy(
        update={"hold": Hold(slip=0.62, lift=None, tip=1.4), "worst": "slip"}
    )
    root = parsed(grips(result.model_copy(update={"stations": {"P1": weak}})))
    assert texts(root, "beyond") == ["\u25b2 0.62, slip, dovetail slot"]
    assert len(of_class(root, "short")) == 1


def test_a_hold_without_limit_or_beyond_the_scale_is_said_in_words(result: Result) -> None:
    free = result.stations["P1"].model_copy(
        update={"hold": Hold(slip=None, lift=None, tip=None), "worst": None}
    )
    strong = result.stations["P2"].model_copy(
        update={"hold": Hold(slip=41.2, lift=None, tip=None), "worst": "slip"}
    )
    root = parsed(grips(result.model_copy(update={"stations": {"P1": free, "P2": strong}})))
    assert texts(root, "value") == ["no limit, dovetail slot", "41, slip, dovetail slot"]


def test_the_order_is_a_path_of_numbered_flags_from_clamp_to_clamp(
    design: Design, result: Result
) -> None:
    root = parsed(order_on_plan(design, result, draw(design)))
    assert texts(root, "turn") == [str(n) for n in range(1, 9)]
    legs = of_class(root, "leg")
    assert len(legs) == len(of_class(root, "head")) == 7
    where = {clamp.id: (clamp.x_mm, 300 - clamp.y_mm) for clamp in design.clamps}
    start, end = places(legs[0])
    assert start[1] == end[1] == where["C3"][1] == where["C4"][1]
    assert where["C3"][0] < start[0] < end[0] < where["C4"][0]
    assert ", ".join(ORDER) in (root[1].text or "")


def test_without_an_order_the_plan_is_drawn_as_a_plan(design: Design, result: Result) -> None:
    bare = result.model_copy(update={"order": []})
    root = parsed(order_on_plan(design, bare, draw(design)))
    assert root[0].text == "Plan of SAD-20 revision B"
    assert not of_class(root, "leg")
    assert len(of_class(root, "balloon")) == 8
