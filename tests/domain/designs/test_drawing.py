"""The drawing: to scale, bench side down, classes only, and safe with any text."""

from __future__ import annotations

import re
from itertools import pairwise
from xml.etree import ElementTree as ET

import pytest

from api.domain.designs import geometry as g
from api.domain.designs.document import Design
from api.domain.designs.drawing import draw, plan
from api.domain.designs.drawing.marks import clamp_labels
from tests.domain.designs.examples import BASE, changed, read, stores
from tests.domain.designs.test_document import SEEDS, seed

SVG = "{http://www.w3.org/2000/svg}"


def design_of(text: str) -> Design:
    design = read(text).design
    assert design is not None
    return design


def drawn(text: str, *, with_marks: bool = False) -> ET.Element:
    design = design_of(text)
    return parsed(plan(design, stores()) if with_marks else draw(design, stores()))


def parsed(svg: str) -> ET.Element:
    return ET.fromstring(svg)  # noqa: S314 - our own drawing


def of_class(root: ET.Element, css: str) -> list[ET.Element]:
    return [each for each in root.iter() if css in (each.get("class") or "").split()]


@pytest.mark.parametrize("name", SEEDS)
def test_a_drawing_has_classes_and_neither_style_nor_script(name: str) -> None:
    for root in (drawn(seed(name)), drawn(seed(name), with_marks=True)):
        for each in root.iter():
            assert not {"style", "fill", "stroke", "href"} & set(each.attrib)
            assert each.tag.removeprefix(SVG) in {"svg", "g", "path", "rect", "circle", "text"}


def test_the_view_is_the_plate_with_a_margin_of_14_mm() -> None:
    assert drawn(BASE).get("viewBox") == "-14 -14 328 228"


def test_the_base_has_no_text_but_the_overall_dimensions() -> None:
    assert [each.text for each in drawn(BASE).iter(f"{SVG}text")] == ["300", "200"]


def test_the_front_of_the_plate_is_at_the_bottom() -> None:
    rects = of_class(drawn(BASE), "part")
    assert [(each.get("x"), each.get("y")) for each in rects] == [("45", "122"), ("45", "42")]


def test_a_clamps_body_reaches_from_the_part_to_the_stop() -> None:
    body = of_class(drawn(BASE), "body")[0].get("d") or ""
    numbers = [float(text) for text in re.findall(r"-?[\d.]+", body)]
    assert (min(numbers[::2]), max(numbers[::2])) == (95, 135)
    assert (min(numbers[1::2]), max(numbers[1::2])) == (126.25, 153.75)


def test_hatching_stays_inside_its_stop() -> None:
    stop = next(each for each in drawn(BASE).iter() if each.get("data-id") == "S1")
    path = of_class(stop, "hatch")[0][0].get("d") or ""
    numbers = [float(text) for text in re.findall(r"-?[\d.]+", path)]
    assert all(25 <= x <= 45 for x in numbers[::2])
    assert all(30 <= y <= 170 for y in numbers[1::2])
    lines = list(zip(numbers[::4], numbers[1::4], numbers[2::4], numbers[3::4], strict=True))
    assert len(lines) > 20
    assert all(x1 - x0 == pytest.approx(y0 - y1, abs=0.02) for x0, y0, x1, y1 in lines)
    feet = [x0 + y0 for x0, y0, _, _ in lines]
    assert all(b - a == pytest.approx(20 / 3, abs=0.02) for a, b in pairwise(feet))


def test_receivers_are_drawn_as_pad_and_bore() -> None:
    radii = [each.get("r") for each in of_class(drawn(BASE), "stud")]
    assert radii == ["20", "10", "20", "10"]


def test_pockets_are_drawn() -> None:
    pocket = of_class(drawn(BASE), "pocket")[0]
    assert (pocket.get("x"), pocket.get("y"), pocket.get("width")) == ("220", "50", "40")


def test_an_undercut_face_shows_its_hidden_foot_on_the_side_of_the_parts() -> None:
    hidden = of_class(drawn(seed("CLR-08-A")), "hidden")
    assert [each.get("d") for each in hidden] == ["M52.63 190L52.63 30", "M287.37 190L287.37 30"]
    assert of_class(drawn(BASE), "hidden") == []


def test_a_round_part_is_a_circle_when_upright_and_a_bar_when_lying() -> None:
    upright = changed('size = ["50 mm", "36 mm", "24 mm"]', 'size = ["50 mm", "50 mm", "24 mm"]')
    upright = upright.replace('shape = "block"', 'shape = "round"')
    assert [each.tag for each in of_class(drawn(upright), "part")] == [f"{SVG}rect", f"{SVG}circle"]
    assert {each.tag for each in of_class(drawn(seed("CLR-08-A")), "part")} == {f"{SVG}rect"}


def test_the_plan_adds_balloons_points_and_names() -> None:
    root = drawn(seed("SAD-20-B"), with_marks=True)
    texts = [each.text for each in root.iter(f"{SVG}text")]
    assert texts[:2] == ["450", "300"]
    assert {"P1", "P8", "S1", "S4", "A"} <= set(texts)
    assert [each.text for each in of_class(root, "number")] == [str(n) for n in range(1, 9)]
    assert len(of_class(root, "cross")) == 2


def test_the_plan_can_leave_the_balloons_out() -> None:
    root = parsed(plan(design_of(BASE), stores(), with_balloons=False))
    assert of_class(root, "balloon") == []
    assert of_class(root, "point")


def test_clamps_whose_ids_share_no_prefix_keep_their_ids() -> None:
    assert clamp_labels(design_of(BASE)) == {"C1": "1", "C2": "2"}
    text = BASE.replace('"C2"', '"K2"')
    assert clamp_labels(design_of(text)) == {"C1": "C1", "K2": "K2"}


def test_texts_are_escaped() -> None:
    design = design_of(BASE)
    nasty = design.model_copy(update={"revision": '"><script>'})
    root = parsed(draw(nasty, stores()))
    assert '"><script>' in (root.get("aria-label") or "")
    assert "<script>" not in draw(nasty, stores())


def test_outlines_that_touch_do_not_overlap() -> None:
    left, right = g.rectangle(0, 0, 10, 10), g.rectangle(10, 0, 10, 10)
    assert g.overlap_mm(left, right) <= 0
    assert g.overlap_mm(left, g.rectangle(9, 0, 10, 10)) == pytest.approx(1)
    turned = g.turned_box((20, 5), 45, 7, 7, 14)
    assert g.overlap_mm(left, turned) < g.TOUCH_MM
    assert g.overlap_mm(left, g.turned_box((18, 5), 45, 7, 7, 14)) > 1


def test_a_line_enters_and_leaves_an_outline() -> None:
    box = g.rectangle(10, -5, 20, 10)
    assert g.ray_hits((0, 0), (1, 0), box) == pytest.approx((10, 30))
    assert g.ray_hits((40, 0), (1, 0), box) == pytest.approx((-30, -10))
    assert g.ray_hits((0, 6), (1, 0), box) is None
    assert g.ray_hits((0, 3), (1, 0), g.circle((20, 0), 5)) == pytest.approx((16, 24))
    assert g.ray_hits((0, 6), (1, 0), g.circle((20, 0), 5)) is None


@pytest.mark.parametrize(
    ("size", "axis"),
    [
        ((30, 40, 30), "y"),
        ((40, 30, 30), "x"),
        ((30, 30, 12), "z"),
        ((30, 30, 30), "z"),
        ((3, 4, 5), None),
    ],
)
def test_the_axis_of_a_round_part_follows_from_its_equal_sizes(
    size: tuple[float, float, float], axis: str | None
) -> None:
    assert g.bar_axis(size) == axis
