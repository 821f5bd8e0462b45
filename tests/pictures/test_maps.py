"""Bow maps: to scale, on one scale of colour, with lines where the heights are."""

from __future__ import annotations

import math

import numpy as np
import pytest

from api.domain.analyses.result import Result
from api.domain.designs import Design
from api.domain.designs.document import State
from api.domain.units import Quantity
from api.pictures import bow_map, change_map
from api.pictures.contours import Array, Heights, finer
from api.pictures.maps import SMALL, colour_step
from tests.pictures.reading import number, of_class, parsed, places, texts, view
from tests.support.analyses import SHAPES, height_um, sad_20

WIDTH_MM = 300


@pytest.fixture(scope="module")
def design() -> Design:
    return sad_20()[0]


@pytest.fixture(scope="module")
def result() -> Result:
    return sad_20()[1].result


def test_a_map_is_to_scale_with_the_bench_side_down(design: Design, result: Result) -> None:
    root = parsed(bow_map(design, result, "torqued locked").svg)
    plate, stop = of_class(root, "plate")[0], of_class(root, "stop")[0]
    assert (number(plate, "width"), number(plate, "height")) == (450, 300)
    assert places(stop)[0] == (25, WIDTH_MM - 30)
    rings = [(number(ring, "cx"), number(ring, "cy")) for ring in of_class(root, "ring")]
    assert rings == [(clamp.x_mm, WIDTH_MM - clamp.y_mm) for clamp in design.clamps]
    left, top, length, width = view(root)
    assert (left, top, length) == (-6, -6, 462)
    assert width > 312


@pytest.mark.parametrize("state", SHAPES)
def test_lines_lie_where_the_plate_has_their_height(
    design: Design, result: Result, state: State
) -> None:
    root = parsed(bow_map(design, result, state).svg)
    lines = [each for each in root.iter() if each.get("data-um")]
    assert lines
    for line in lines:
        level = number(line, "data-um")
        steepest = 2 * sum(abs(part) for part in SHAPES[state][1:]) / 150
        for x, y in places(line):
            assert abs(height_um(state, x, WIDTH_MM - y) - level) < 0.1 * steepest + 0.02


def test_there_is_a_line_at_every_round_step_and_it_is_said_which(
    design: Design, result: Result
) -> None:
    picture = bow_map(design, result, "torqued free")
    levels = [number(e, "data-um") for e in parsed(picture.svg).iter() if e.get("data-um")]
    assert levels == [float(level) for level in range(-100, 501, 50)]
    assert picture.caption == (
        "\u2212100 to 512 µm above the unloaded plane of the receivers; a line every 50 µm."
    )
    assert set(texts(parsed(picture.svg), "level")) <= {
        f"{level}".replace("-", "\u2212") for level in range(-100, 501, 50)
    }
    assert {"0", "200", "500"} <= set(texts(parsed(picture.svg), "level"))


def test_the_sign_of_a_line_shows_without_colour(design: Design, result: Result) -> None:
    root = parsed(bow_map(design, result, "torqued locked").svg)
    for css, fits in (("below", -1), ("zero", 0), ("above", 1)):
        lines = [each for each in of_class(root, css) if each.get("data-um")]
        assert lines
        assert all(np.sign(number(line, "data-um")) == fits for line in lines)


def test_colours_follow_one_scale_over_all_maps_and_lines_their_own(
    design: Design, result: Result
) -> None:
    assert colour_step(design, result) == 50
    small, large = (bow_map(design, result, state) for state in ("empty locked", "torqued free"))
    assert "a line every 0.2 µm" in small.caption
    assert "a line every 50 µm" in large.caption
    shown = {each.get("class") for each in of_class(parsed(small.svg), "ground")[0]}
    assert shown == {"dish-1"}
    assert of_class(parsed(large.svg), "crown-11")
    assert not of_class(parsed(large.svg), "crown-12")


def test_the_key_names_the_height_at_the_edges_of_its_colours(
    design: Design, result: Result
) -> None:
    key = of_class(parsed(bow_map(design, result, "torqued locked").svg), "key")[0]
    words = [each.text for each in key if each.text]
    edges = [f"{level}".replace("-", "\u2212") for level in range(-200, 101, 50)]
    assert words == [*edges, "dish, µm", "crown, µm"]


def test_a_point_carries_its_height_on_a_state_and_its_limits_on_a_change(
    design: Design, result: Result
) -> None:
    state = parsed(bow_map(design, result, "torqued locked").svg)
    change = parsed(change_map(design, result, "snug free", "torqued locked").svg)
    assert texts(of_class(state, "point")[0], "label") == ["A 55 µm"]
    assert texts(of_class(change, "point")[0], "label") == ["A 57 µm"]
    assert texts(of_class(change, "point")[0], "limit") == ["limit \u221250 to 50"]


def test_the_text_alternative_says_what_the_picture_shows(design: Design, result: Result) -> None:
    root = parsed(change_map(design, result, "snug free", "torqued locked").svg)
    title, told = root[0].text or "", root[1].text or ""
    assert title == "Bow of SAD-20 revision B: Change from snug free to torqued locked"
    assert "Highest at x 225" in told
    assert "Point A 57 µm." in told


def test_labels_keep_off_the_balloons(design: Design, result: Result) -> None:
    root = parsed(bow_map(design, result, "torqued free", SMALL).svg)
    rings = [(number(r, "cx"), number(r, "cy"), number(r, "r")) for r in of_class(root, "ring")]
    for label in of_class(root, "level"):
        moved = (label.get("transform") or "").partition("(")[2].partition(")")[0].split()
        x, y = float(moved[0]), float(moved[1])
        assert all(math.dist((x, y), ring[:2]) > ring[2] for ring in rings)


def test_a_flat_plate_has_no_lines_and_says_so(design: Design, result: Result) -> None:
    assert result.map is not None
    level = [[1.5 for _ in row] for row in result.map.w_um["snug free"]]
    flat = result.map.model_copy(update={"w_um": {"snug free": level}})
    picture = bow_map(design, result.model_copy(update={"map": flat}), "snug free")
    assert not [each for each in parsed(picture.svg).iter() if each.get("data-um")]
    assert picture.caption.startswith("1.5 µm")
    assert "flat" in picture.caption


def test_balloons_of_close_clamps_never_meet(design: Design, result: Result) -> None:
    (x, y), near = design.clamps[0].at, Quantity("62 mm", 0.062, "length")
    crowd = [design.clamps[0], design.clamps[1].model_copy(update={"at": (x, near)})]
    root = parsed(
        bow_map(design.model_copy(update={"clamps": crowd}), result, "torqued locked").svg
    )
    one, other = of_class(root, "ring")
    assert y.mm == 60
    assert number(one, "r") + number(other, "r") < 2 == abs(number(one, "cy") - number(other, "cy"))


def test_drawing_on_a_finer_grid_leaves_a_parabola_as_it_is() -> None:
    x, y = np.array([0.0, 10, 25, 40, 60, 90]), np.array([0.0, 20, 30, 55])
    fine = finer(Heights(x, y, parabola(x, y)))
    assert len(fine.x_mm) > 3 * len(x)
    assert fine.w_um == pytest.approx(parabola(fine.x_mm, fine.y_mm), abs=1e-9)


def parabola(x: Array, y: Array) -> Array:
    a, b = x[None, :], y[:, None]
    return 3 + 0.2 * a - 0.01 * a**2 + 0.02 * b**2 - 0.1 * b


def test_a_map_of_what_is_not_there_is_refused_with_what_is(design: Design, result: Result) -> None:
    with pytest.raises(ValueError, match="no map"):
        bow_map(design, result.model_copy(update={"map": None}), "snug free")
    assert result.map is not None
    one = result.map.model_copy(update={"w_um": {"snug free": result.map.w_um["snug free"]}})
    with pytest.raises(ValueError, match="it holds snug free"):
        bow_map(design, result.model_copy(update={"map": one}), "torqued free")
