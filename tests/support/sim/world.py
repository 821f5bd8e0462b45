"""Tablets and a server with everything between them that can go wrong; one method for each thing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, field

import httpx

from tests.support.sim.doors import Door, Refused, Told
from tests.support.sim.tablet import Asked, SimTablet

ROUNDS = 40


@dataclass
class World:
    """`late` are answers under way, `ghosts` requests whose sender is no more."""

    door: Door
    tablets: list[SimTablet]
    enrol: Callable[[SimTablet], None]
    late: list[tuple[SimTablet, Asked, Told]] = field(default_factory=list)
    ghosts: list[tuple[SimTablet, Asked]] = field(default_factory=list)

    def deliver(self, tablet: SimTablet, at: int = 0) -> None:
        """A request arrives, and its answer too."""
        asked = self._taken(tablet, at)
        if asked is not None:
            self._answer(tablet, asked)

    def lose_request(self, tablet: SimTablet, at: int = 0) -> None:
        asked = self._taken(tablet, at)
        if asked is not None:
            tablet.fail(asked)

    def lose_answer(self, tablet: SimTablet, at: int = 0) -> None:
        """The server did what it was asked for, and the tablet never hears of it."""
        asked = self._taken(tablet, at)
        if asked is not None:
            self._reach(tablet, asked)
            tablet.fail(asked)

    def double(self, tablet: SimTablet, at: int = 0) -> None:
        """A request arrives twice; only the second answer comes back."""
        asked = self._taken(tablet, at)
        if asked is not None:
            self._reach(tablet, asked)
            self._answer(tablet, asked)

    def delay(self, tablet: SimTablet, at: int = 0) -> None:
        """The server answers, and the answer takes its time; the tablet gives up waiting."""
        asked = self._taken(tablet, at)
        if asked is None:
            return
        told = self._reach(tablet, asked)
        if told is not None:
            self.late.append((tablet, asked, told))
        tablet.fail(asked)

    def catch_up(self, at: int = 0) -> None:
        """One late answer arrives after all."""
        if self.late:
            tablet, asked, told = self.late.pop(at % len(self.late))
            tablet.answer(asked, told)

    def haunt(self, at: int = 0) -> None:
        """A request of a tablet that has crashed since reaches the server after all."""
        if self.ghosts:
            self._reach(*self.ghosts.pop(at % len(self.ghosts)))

    def crash(self, tablet: SimTablet) -> None:
        """A browser killed: nothing but its disk stays, what it sent may still arrive."""
        self.ghosts += [(tablet, asked) for asked in tablet.wire]
        self.late = [one for one in self.late if one[0] is not tablet]
        tablet.restart()

    def crash_in_answer(self, tablet: SimTablet, at: int, writes: int) -> None:
        """The browser dies while the answer is being written to its disk."""
        asked = self._taken(tablet, at)
        if asked is None:
            return
        told = self._reach(tablet, asked)
        self.ghosts += [(tablet, one) for one in tablet.wire]
        self.late = [one for one in self.late if one[0] is not tablet]
        if told is None:
            tablet.restart()
        else:
            tablet.dies_in(asked, told, writes)

    def let_in(self, tablet: SimTablet) -> None:
        """A lead makes a code and the tablet uses it."""
        self.enrol(tablet)
        tablet.feed({"type": "enrolled"})

    def jump(self, tablet: SimTablet, seconds: float, offset_ms: float | None) -> None:
        """The tablet's clock is set, and it may know by how much it is off."""
        tablet.writer.clock += dt.timedelta(seconds=seconds)
        tablet.writer.offset_ms = offset_ms

    def settle(self) -> None:
        """Nothing goes wrong any more: everything is delivered until nobody has anything to say."""
        while self.late:
            self.catch_up()
        while self.ghosts:
            self.haunt()
        for _ in range(ROUNDS):
            for tablet in self.tablets:
                tablet.feed({"type": "timer"})
                if tablet.state["access"] == "refused":
                    self.let_in(tablet)
                while tablet.wire:
                    self.deliver(tablet)
            if all(not tablet.state["outbox"] and not tablet.wire for tablet in self.tablets):
                return
        told = {one.name: (one.state["outbox"], one.state["complaint"]) for one in self.tablets}
        raise AssertionError(
            f"after {ROUNDS} rounds without a fault there is still to send: {told}"
        )

    def assert_honest(self) -> None:
        """Between any two moves: what is shown had an outcome, what had none is still to be sent."""
        for tablet in self.tablets:
            state, shown = tablet.state, tablet.shown
            outbox, acknowledged = state["outbox"], state["acknowledged"]
            assert shown <= tablet.answered, f"{tablet.name} shows more than it was told"
            assert len(set(outbox)) == len(outbox)
            assert sorted({*outbox, *acknowledged}) == sorted(tablet.rows)
            unsent = tablet.rows.keys() - shown
            assert tablet.refused or unsent <= set(outbox), f"{tablet.name} forgot to send"

    def _taken(self, tablet: SimTablet, at: int) -> Asked | None:
        return tablet.wire.pop(at % len(tablet.wire)) if tablet.wire else None

    def _answer(self, tablet: SimTablet, asked: Asked) -> None:
        try:
            told = self._handled(tablet, asked)
        except Refused as refused:
            tablet.fail(asked, refused.status, refused.code)
        except httpx.TransportError:
            tablet.fail(asked)
        else:
            tablet.answer(asked, told)

    def _reach(self, tablet: SimTablet, asked: Asked) -> Told:
        try:
            return self._handled(tablet, asked)
        except (Refused, httpx.TransportError):
            return None

    def _handled(self, tablet: SimTablet, asked: Asked) -> Told:
        told = self.door.handle(tablet, asked)
        if asked["do"] == "push" and told is not None:
            tablet.answered |= {asked["ns"][one["index"]] for one in told["results"]}
        return told
