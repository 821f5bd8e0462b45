"""What the design's analysis says at the bench: the bow beside each clamp, the band after a reading."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import ViewportSize, expect

from api.domain.analyses.guide import Guide
from api.domain.analyses.guiding import Pull, after
from tests.browser.conftest import MakeTablet
from tests.browser.halfway import OtherTablet, half_done
from tests.browser.looks import axe_findings, boxes, overflow
from tests.browser.tablet import Tablet
from tests.support.server import Server

TOOL, INDICATOR = "T-03", "I-03"
JUDGED = "read/A/torqued locked"
SIZES: tuple[ViewportSize, ...] = (
    {"width": 1280, "height": 800},
    {"width": 1024, "height": 768},
    {"width": 390, "height": 844},
)
SCROLLS = """() => [...document.querySelectorAll('.do > .middle')].filter(
  (one) => one.scrollHeight > one.clientHeight + 1).length"""


def tightening(sheet: dict[str, Any]) -> list[Pull]:
    return [(clamp, share) for share in sheet["passes"] for clamp in sheet["order"]]


def told(guide: Guide, pulls: list[Pull]) -> str:
    """The line of the most bowed point, as an indicator of 0.002 mm lets it be told."""
    changes = after(guide, pulls).change_um
    most = max(range(len(changes)), key=lambda p: abs(changes[p]))
    size, point = f"{abs(changes[most]) / 1e3:.3f}", guide.points[most]
    if abs(changes[most]) < 1:
        return f"Plate at {point}: about {size} mm by now"
    return f"Plate at {point}: about {size} mm {'up' if changes[most] > 0 else 'down'} by now"


def at_step(url: str, tablet: MakeTablet, plate: str, step: str) -> Tablet:
    half_done(url, step, plate=plate, tool=TOOL, indicator=INDICATOR)
    bench = tablet(url)
    bench.open()
    bench.take_over(plate)
    bench.at(step)
    return bench


def sheet_at(url: str, plate: str) -> dict[str, Any]:
    return OtherTablet(url).sheet_of(plate)


def test_the_estimate_follows_every_clamp_with_the_server_gone(
    shop: Server, tablet: MakeTablet
) -> None:
    plate = "SAD-20-001"
    sheet = sheet_at(shop.url, plate)
    guide, pulls = Guide.model_validate(sheet["guide"]), tightening(sheet)
    bench = at_step(shop.url, tablet, plate, f"torque/1/{sheet['order'][0]}")
    bench.shell_is_kept()
    bench.complaints.server_may_vanish = True
    shop.stop()
    lines = []
    for n in range(len(sheet["order"]) + 2):
        expect(bench.find("bow-now")).to_have_text(told(guide, pulls[:n]))
        lines.append(bench.find("bow-now").inner_text())
        bench.main()
    assert len(set(lines)) > 3
    assert bench.kept() >= len(lines)


def test_a_pass_that_starts_again_keeps_the_bow_it_has_made(
    shared_shop: Server, plate: str, tablet: MakeTablet
) -> None:
    sheet = sheet_at(shared_shop.url, plate)
    guide, first = Guide.model_validate(sheet["guide"]), tightening(sheet)[:2]
    bench = at_step(shared_shop.url, tablet, plate, f"torque/1/{sheet['order'][0]}")
    for _ in first:
        bench.main()
    bench.go(bench.find("pause"))
    bench.go(bench.find("pause-reason", "break"))
    bench.choose_plate(plate)
    bench.choose_badge("B-01")
    bench.go_on()
    bench.at(f"torque/1/{sheet['order'][0]}")
    expect(bench.find("bow-now")).to_have_text(told(guide, first))
    bench.main()
    expect(bench.find("bow-now")).to_have_text(told(guide, [*first, first[0]]))


def test_all_points_and_what_will_come_of_them_are_a_touch_away(
    shared_shop: Server, plate: str, tablet: MakeTablet
) -> None:
    sheet = sheet_at(shared_shop.url, plate)
    guide, pulls = Guide.model_validate(sheet["guide"]), tightening(sheet)
    bench = at_step(shared_shop.url, tablet, plate, f"torque/1/{sheet['order'][0]}")
    bench.main()
    bench.go(bench.find("bow"))
    moments = [after(guide, pulls[:n]).change_um for n in (1, 2, len(pulls))]
    for p, point in enumerate(guide.points):
        shown = [f"{change[p] / 1e3:+.3f} mm".replace("-", "\u2212") for change in moments]
        expect(bench.find("bow-point", point).locator("dd")).to_have_text(shown)
    bench.go(bench.find("back"))
    bench.at(f"torque/1/{sheet['order'][1]}")


def test_nothing_moves_when_the_estimate_changes_and_the_torque_stays_the_largest_number(
    shared_shop: Server, plate: str, tablet: MakeTablet
) -> None:
    order = sheet_at(shared_shop.url, plate)["order"]
    bench = at_step(shared_shop.url, tablet, plate, f"torque/1/{order[0]}")
    places: dict[int, set[tuple[str, int, int]]] = {}
    for _ in range(4):
        for size in SIZES:
            bench.page.set_viewport_size(size)
            assert overflow(bench.page) == []
            assert bench.page.evaluate(SCROLLS) == 0
            places.setdefault(size["width"], set()).update(_tops(bench))
        bench.page.set_viewport_size(SIZES[0])
        bench.main()
    assert axe_findings(bench.page) == []
    for seen in places.values():
        assert len(seen) == len({name for name, *_ in seen})
        height = {name: high for name, _, high in seen}
        assert height["[data-number]"] > 2 * height["[data-bow-now]"]


def _tops(bench: Tablet) -> list[tuple[str, int, int]]:
    names = ("[data-main]", "[data-number]", "[data-bow-now]", "[data-bow]")
    found = [(name, box) for name in names for box in boxes(bench.page, name)]
    return [(name, round(box["top"]), round(box["height"])) for name, box in found]


def test_the_expected_band_is_told_only_once_the_reading_is_kept_and_stops_nothing(
    shared_shop: Server, plate: str, tablet: MakeTablet
) -> None:
    steps = sheet_at(shared_shop.url, plate)["steps"]
    expected = next(one["expected"] for one in steps if one["id"] == JUDGED)
    bench = at_step(shared_shop.url, tablet, plate, JUDGED)
    aside = bench.page.locator("section.do")
    expect(aside).not_to_contain_text("expected")
    bench.type_number(f"{round(expected['high_mm'], 2) + 0.02:.3f}")
    bench.enter()
    expect(bench.find("read-back")).to_be_visible()
    expect(aside).not_to_contain_text("expected")
    bench.main()
    assert bench.step().kind == "touch"
    line = bench.find("said").locator("[data-expected]")
    expect(line).to_have_attribute("data-expected", "above")
    low, high = (f"{expected[key]:.3f}".replace("-", "\u2212") for key in ("low_mm", "high_mm"))
    words = f"expected {low} to {high} mm, estimated: the reading lies above"
    expect(line).to_have_text(words)
    bench.go(bench.find("recorded"))
    expect(bench.find("records-list").locator("[data-expected]")).to_have_text(words)
