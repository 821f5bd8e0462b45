"""Every bench screen at every size: nothing to the side, the main action in sight, targets for gloves."""

from __future__ import annotations

from collections import defaultdict

from playwright.sync_api import ViewportSize

from tests.browser.bench import Bench
from tests.browser.conftest import MakeTablet
from tests.browser.halfway import half_done
from tests.browser.looks import axe_findings, boxes, overflow
from tests.browser.tour import Tour
from tests.support.server import Server

TABLETS: tuple[ViewportSize, ...] = (
    {"width": 1280, "height": 800},
    {"width": 1024, "height": 768},
    {"width": 768, "height": 1024},
)
PHONE: ViewportSize = {"width": 390, "height": 844}
LEAST_MM = 15.0
LEAST_MAIN_MM = 20.0
ROUNDING_PX = 0.5
WITHOUT_MAIN = {
    "plates",
    "settings",
    "badge",
    "judge-who",
    "panel-note",
    "panel-recorded",
    "panel-trouble",
}
TOUCHED = "button, a, input, select, [role=button]"
DUE = {"grease_due": True, "baseline_due": True, "second_touch": ["C1", "C2"]}


class Measure:
    """Looks at a screen in every size and collects what is wrong with it."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.found: dict[str, list[str]] = defaultdict(list)

    def __call__(self, name: str) -> None:
        page = self.bench.page
        for size in (*TABLETS, PHONE):
            page.set_viewport_size(size)
            label = f"{name} {size['width']}x{size['height']}"
            wrong = [*overflow(page), *self._main(name, size)]
            if size != PHONE:
                wrong += self._targets()
            if size in (TABLETS[0], PHONE):
                wrong += axe_findings(page)
            if wrong:
                self.found[label] += wrong
        page.set_viewport_size(TABLETS[0])

    def _main(self, name: str, size: ViewportSize) -> list[str]:
        mains = boxes(self.bench.page, "[data-main]")
        if not mains:
            return [] if name in WITHOUT_MAIN else ["no main action"]
        (main,) = mains
        inside = (
            main["left"] >= -ROUNDING_PX
            and main["top"] >= -ROUNDING_PX
            and main["right"] <= size["width"] + ROUNDING_PX
            and main["bottom"] <= size["height"] + ROUNDING_PX
        )
        wrong = [] if inside else [f"main action out of sight: {main}"]
        if size != PHONE and main["height"] < LEAST_MAIN_MM * self._px_per_mm() - ROUNDING_PX:
            wrong.append(f"main action only {main['height'] / self._px_per_mm():.1f} mm high")
        return wrong

    def _targets(self) -> list[str]:
        px = self._px_per_mm()
        small = [
            one
            for one in boxes(self.bench.page, TOUCHED)
            if min(one["width"], one["height"]) < LEAST_MM * px - ROUNDING_PX
        ]
        return [
            f"{one['text']}: {one['width'] / px:.1f} x {one['height'] / px:.1f} mm" for one in small
        ]

    def _px_per_mm(self) -> float:
        text: str = self.bench.page.evaluate(
            "getComputedStyle(document.documentElement).getPropertyValue('--mm')"
        )
        return float(text.removesuffix("px"))


def test_every_screen_of_a_whole_setup_fits_every_tablet_and_a_phone(
    shop: Server, tablet: MakeTablet
) -> None:
    bench = tablet(shop.url)
    measure = Measure(bench)
    bench.offer_code()
    measure("enrol")
    bench.open()
    tour = Tour(bench, measure)
    tour.whole_setup("SAD-20-001", "T-05", "I-01", "B-01", "4101")
    kinds = {"clean", "free", "load", "snug", "zero", "torque", "recheck", "lock", "gap", "touch"}
    assert kinds <= tour.seen
    assert dict(measure.found) == {}


def test_the_screens_of_a_plate_with_everything_due_fit_too(
    shop: Server, tablet: MakeTablet
) -> None:
    half_done(shop.url, "grease/C6", plate="CLR-08-001", tool="T-07", indicator="I-03", facts=DUE)
    bench = tablet(shop.url)
    bench.open()
    measure = Measure(bench)
    tour = Tour(bench, measure)
    bench.choose_plate("CLR-08-001")
    bench.choose_badge("B-01")
    tour.stop("resume")
    bench.go(bench.find("takeover"))
    tour.steps_until("load/P1")
    assert {"resume", "grease", "lock", "zero", "read", "unlock"} <= tour.seen
    assert dict(measure.found) == {}
