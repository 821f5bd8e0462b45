"""Through a whole setup, stopping once at every kind of screen."""

from __future__ import annotations

from collections.abc import Callable

from playwright.sync_api import expect

from tests.browser.bench import Bench

Visit = Callable[[str], None]
LOCKED = "read/A/torqued locked"
OUT_MM = "0.08"


class Tour:
    """Tells `visit` the name of each screen while it stands there."""

    def __init__(self, bench: Bench, visit: Visit) -> None:
        self.bench = bench
        self.visit = visit
        self.seen: set[str] = set()

    def whole_setup(self, plate: str, tool: str, indicator: str, badge: str, pin: str) -> None:
        """From the plates to the counted parts; one reading out of limits on the way."""
        self._way_in(plate, tool, indicator, badge)
        self._panels()
        self.steps_until(LOCKED)
        self._out_of_limits()
        self.steps_until("judge")
        self._judgement()
        self._signature(pin)
        self._after_the_run()

    def steps_until(self, step_id: str) -> None:
        """Do every step, stopping at the first of each kind."""
        while (step := self.bench.step()).id != step_id:
            self.stop(step.kind)
            if step.kind == "read":
                self.reading("0.01")
            else:
                self.bench.main()

    def reading(self, value: str) -> None:
        self.bench.type_number(value)
        self.stop("read-typed")
        self.bench.enter()
        self.stop("read-back")
        self.bench.main()

    def stop(self, name: str) -> None:
        if name not in self.seen:
            self.seen.add(name)
            self.bench.ready()
            self.visit(name)

    def _way_in(self, plate: str, tool: str, indicator: str, badge: str) -> None:
        bench = self.bench
        expect(bench.find("plate", plate)).to_be_visible()
        self.stop("plates")
        bench.go(bench.find("settings"))
        self.stop("settings")
        bench.go(bench.find("card"))
        self.stop("bank-card")
        bench.main()
        bench.go(bench.find("back"))
        bench.choose_plate(plate)
        self.stop("badge")
        bench.choose_badge(badge)
        self.stop("due")
        bench.main()
        bench.choose_tools(tool, indicator)
        self.stop("tools")
        bench.main()

    def _panels(self) -> None:
        bench = self.bench
        for name in ("pause", "note", "recorded", "trouble"):
            button = bench.find(name).first
            if button.count():
                bench.go(button)
                self.stop(f"panel-{name}")
                bench.go(bench.main_action if name == "pause" else bench.find("back"))

    def _out_of_limits(self) -> None:
        bench = self.bench
        bench.type_number("1.01")
        bench.enter()
        self.stop("read-doubt")
        bench.main()
        bench.type_reading(OUT_MM)
        self.stop("read-second-entry")
        bench.type_number(OUT_MM)
        bench.enter()
        bench.give_reason()
        self.stop("read-reason")
        bench.main()

    def _judgement(self) -> None:
        bench = self.bench
        self.stop("judge-who")
        bench.go(bench.find("badge", "B-03"))
        bench.tap(bench.find("judge", "accept"))
        bench.give_reason()
        self.stop("judge")
        bench.main()

    def _signature(self, pin: str) -> None:
        bench = self.bench
        bench.at("sign")
        self.stop("sign")
        bench.pin(pin)
        expect(bench.find("verdict", "confirmed")).to_be_visible()
        self.stop("machine")

    def _after_the_run(self) -> None:
        bench = self.bench
        bench.main()
        bench.at("unload")
        self.stop("unload")
        bench.keys("8")
        bench.enter()
        bench.keys("0")
        bench.enter()
        self.stop("finished")
        bench.main()
