from __future__ import annotations

import datetime as dt
import re
import xml.etree.ElementTree as ET

import pytest

from api.routes.office.logbook.chart import Chart, Dot, Scale, draw, round_step, usual_band

DAY = dt.datetime(2026, 11, 1, 8, tzinfo=dt.UTC)


def dots(*values: float, out: float = 0.05) -> list[Dot]:
    return [
        Dot(DAY + dt.timedelta(days=n), value, f"{value} mm", "/setups/x", out=abs(value) > out)
        for n, value in enumerate(values)
    ]


def drawn(*values: float, low: float | None = -0.05, high: float | None = 0.05) -> ET.Element:
    return ET.fromstring(draw(Chart(dots(*values), low, high, "Readings <A> & more")))  # noqa: S314


def test_without_readings_nothing_is_drawn() -> None:
    assert draw(Chart([], -0.05, 0.05, "none")) == ""


def test_each_reading_is_a_dot_and_one_beyond_a_limit_a_triangle() -> None:
    chart = drawn(0.01, 0.07, -0.02)
    links = chart.findall("a")
    assert [link.get("aria-label") for link in links] == ["0.01 mm", "0.07 mm", "-0.02 mm"]
    assert [link[-1].tag for link in links] == ["circle", "path", "circle"]


def test_only_the_newest_dot_is_a_stop_for_the_tab_key() -> None:
    assert [link.get("tabindex") for link in drawn(0.01, 0.02, 0.03).findall("a")] == [
        "-1",
        "-1",
        "0",
    ]


def test_a_higher_value_stands_higher_and_a_later_one_further_right() -> None:
    first, second = (link[0] for link in drawn(0.01, 0.03).findall("a"))
    assert float(second.get("cy", "")) < float(first.get("cy", ""))
    assert float(second.get("cx", "")) > float(first.get("cx", ""))


def test_the_axis_takes_in_zero_the_limits_and_every_value() -> None:
    chart = drawn(0.2, 0.21, low=-0.05, high=0.05)
    words = [text.text for text in chart.iter("text")]
    assert "limit 0.05" in words
    assert "limit −0.05" in words
    assert any(line.get("class") == "zero" for line in chart.iter("line"))
    heights = [float(node.get("cy", "")) for node in chart.iter("circle")]
    assert all(0 < height < 400 for height in heights)


def test_one_reading_alone_is_drawn_too() -> None:
    assert len(drawn(0.01, low=None, high=None).findall("a")) == 1


def test_the_drawing_carries_no_style_and_escapes_its_words() -> None:
    text = draw(Chart(dots(0.01, 0.02), None, None, 'A "quoted" <title>'))
    assert "style" not in text
    assert "<title>" not in text


def test_the_band_needs_eight_readings_and_holds_their_middle() -> None:
    assert usual_band(dots(*[0.01] * 7)) is None
    low, middle, high = usual_band(dots(*[n / 100 for n in range(21)])) or (0, 0, 0)
    assert (round(low, 6), round(middle, 6), round(high, 6)) == (0.01, 0.1, 0.19)


@pytest.mark.parametrize(
    ("width", "step"), [(0.07, 0.01), (0.1, 0.02), (0.14, 0.02), (0.3, 0.05), (7, 1), (35, 5)]
)
def test_steps_are_round(width: float, step: float) -> None:
    assert round_step(width) == pytest.approx(step)


def test_a_scale_maps_its_ends_to_its_ends() -> None:
    scale = Scale(2.0, 4.0, 100.0, 0.0)
    assert (scale(2.0), scale(3.0), scale(4.0)) == (100.0, 50.0, 0.0)


def test_labels_of_the_axis_do_not_collide_with_rounding() -> None:
    words = re.findall(
        r'class="end"[^>]*>([^<]+)<', draw(Chart(dots(0.001, 0.002), None, None, "t"))
    )
    assert len(words) == len(set(words))
