"""The tablets of a soak: each works in a thread of its own, and forgets, repeats and dies now and then."""

from __future__ import annotations

import random
import threading
import time
from collections.abc import Callable

from tests.bench.soaking.figures import Figures
from tests.support.sim.doors import HttpDoor, Told
from tests.support.sim.tablet import Asked, SimTablet
from tests.support.sim.world import World

MOST_AT_ONCE, ROUNDS = 3, 100


class TimedDoor(HttpDoor):
    """Times every push that is answered, and counts what was said of its events."""

    def __init__(self, url: str, figures: Figures, timeout_s: float) -> None:
        super().__init__(url, timeout_s)
        self.figures = figures

    def handle(self, tablet: SimTablet, asked: Asked) -> Told:
        if asked["do"] != "push":
            return super().handle(tablet, asked)
        with self.figures.answer():
            told = super().handle(tablet, asked)
        if told is not None:
            again = [one for one in told["results"] if one["outcome"] == "already"]
            self.figures.count("delivered again", len(again))
        return told


class Hand:
    """Whoever works at one tablet."""

    def __init__(
        self, tablet: SimTablet, door: TimedDoor, pause_s: float, chance: random.Random
    ) -> None:
        self.tablet, self.figures = tablet, door.figures
        self.pause_s, self.chance = pause_s, chance
        self.world = World(door, [tablet], _never)

    def work(self, ends: threading.Event) -> None:
        while not ends.wait(self.chance.uniform(0.5, 1.5) * self.pause_s):
            for _ in range(self.chance.randint(1, MOST_AT_ONCE)):
                self.tablet.tick()
                self.figures.count("events sent")
            self.tablet.feed({"type": "timer"})
            while self.tablet.wire:
                self._move()(self.tablet)
            self.world.assert_honest()

    def finish(self) -> None:
        """Nothing is made to go wrong any more; a server that is busy is asked again after a while."""
        for _ in range(ROUNDS):
            self.tablet.feed({"type": "timer"})
            while self.tablet.wire:
                self.world.deliver(self.tablet)
            if not self.tablet.state["outbox"]:
                break
            time.sleep(self.chance.uniform(0.5, 1.5) * self.pause_s)
        self.world.settle()
        self.world.assert_honest()

    def _move(self) -> Callable[[SimTablet], None]:
        moves = (
            (82, self.world.deliver),
            (4, self.world.lose_request),
            (4, self.world.lose_answer),
            (4, self.world.double),
            (3, self.world.delay),
            (2, self.world.crash),
            (1, self._forget),
        )
        weights, ways = zip(*moves, strict=True)
        way: Callable[[SimTablet], None] = self.chance.choices(ways, weights)[0]
        return way

    def _forget(self, tablet: SimTablet) -> None:
        self.world.catch_up()
        self.world.haunt()
        self.world.door.forget(tablet)


def _never(tablet: SimTablet) -> None:
    raise AssertionError(f"{tablet.name} was let in before, and the server does not know it")
