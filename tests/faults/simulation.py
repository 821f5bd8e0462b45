"""What hypothesis may do to tablets and their server, and what must hold all the while."""

from __future__ import annotations

import uuid
from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from tests.support.invariants import NOTHING, assert_invariants, guarded_rows
from tests.support.shop import enrol
from tests.support.sim.machine import Machine
from tests.support.sim.sites import Site
from tests.support.sim.tablet import SimTablet
from tests.support.sim.world import World

TABLETS, COPIES = 3, 3
WHO = st.integers(0, TABLETS - 1)
AT = st.integers(0, 3)
DAY_S = 86_400
JUMPS_S = st.sampled_from([2 * 365 * DAY_S, -DAY_S, 3600, -3600, 600])
OFFSETS_MS = st.sampled_from([None, 0.0, 130_000.0, -86_400_000.0])


class Faults(RuleBasedStateMachine):
    """`site` and `machine` are given by the test that runs it."""

    site: Site
    machine: Machine
    restores = restarts = 1_000_000

    def __init__(self) -> None:
        super().__init__()
        self.restores_left, self.restarts_left = self.restores, self.restarts
        self.copies_left = COPIES
        self.site = self.new_site()
        named = [SimTablet(f"sim-{uuid.uuid4().hex[:12]}", self.machine) for _ in range(TABLETS)]
        self.world = World(self.site.door, named, lambda one: enrol(self.site, one.writer))
        for tablet in named[:-1]:
            enrol(self.site, tablet.writer)
        self.before: Any = NOTHING

    def new_site(self) -> Site:
        return self.site

    @rule(who=WHO, times=st.integers(1, 6))
    def tick(self, who: int, times: int) -> None:
        for _ in range(times):
            self.tablet(who).tick()

    @rule(who=WHO, times=st.integers(1, 3))
    def work_in_peace(self, who: int, times: int) -> None:
        """Ticks, and everything that follows from them arrives."""
        tablet = self.tablet(who)
        for _ in range(times):
            tablet.tick()
        tablet.feed({"type": "timer"})
        while tablet.wire:
            self.world.deliver(tablet)

    @rule(who=WHO, times=st.integers(1, 4))
    def deliver(self, who: int, times: int) -> None:
        for _ in range(times):
            self.world.deliver(self.tablet(who))

    @rule(who=WHO, at=AT)
    def deliver_out_of_order(self, who: int, at: int) -> None:
        self.world.deliver(self.tablet(who), at)

    @rule(who=WHO, at=AT)
    def lose_request(self, who: int, at: int) -> None:
        self.world.lose_request(self.tablet(who), at)

    @rule(who=WHO, at=AT)
    def lose_answer(self, who: int, at: int) -> None:
        self.world.lose_answer(self.tablet(who), at)

    @rule(who=WHO, at=AT)
    def double(self, who: int, at: int) -> None:
        self.world.double(self.tablet(who), at)

    @rule(who=WHO, at=AT)
    def delay(self, who: int, at: int) -> None:
        self.world.delay(self.tablet(who), at)

    @rule(at=AT)
    def catch_up(self, at: int) -> None:
        self.world.catch_up(at)

    @rule(at=AT)
    def haunt(self, at: int) -> None:
        self.world.haunt(at)

    @rule(who=WHO)
    def wait(self, who: int) -> None:
        self.tablet(who).feed({"type": "timer"})

    @rule(who=WHO)
    def crash(self, who: int) -> None:
        self.world.crash(self.tablet(who))

    @rule(who=WHO, at=AT, writes=st.integers(0, 2))
    def crash_in_answer(self, who: int, at: int, writes: int) -> None:
        self.world.crash_in_answer(self.tablet(who), at, writes)

    @rule(who=WHO, kind=st.sampled_from(["restored", "restored", "keep", "mark"]))
    def refuse_a_write(self, who: int, kind: str) -> None:
        """The tablet's disk will not take the next write of this kind."""
        self.tablet(who).refuses = kind

    @rule(who=WHO)
    def lose_session(self, who: int) -> None:
        self.world.door.forget(self.tablet(who))

    @rule(who=WHO)
    def let_in(self, who: int) -> None:
        """Also for a tablet that the server has forgotten, or that was never let in before."""
        self.world.let_in(self.tablet(who))

    @rule(who=WHO, seconds=JUMPS_S, offset_ms=OFFSETS_MS)
    def jump(self, who: int, seconds: float, offset_ms: float | None) -> None:
        self.world.jump(self.tablet(who), seconds, offset_ms)

    @rule(who=WHO, after=st.integers(0, 3))
    def fail_a_commit(self, who: int, after: int) -> None:
        if self.site.fail_commits(after):
            self.world.deliver(self.tablet(who))
            self.site.fail_commits(None)

    @precondition(lambda self: self.restarts_left > 0)
    @rule()
    def restart_server(self) -> None:
        self.restarts_left -= 1
        self.site.restart()

    @precondition(lambda self: self.copies_left > 0)
    @rule()
    def back_up(self) -> None:
        self.copies_left -= 1
        self.site.back_up()

    @precondition(lambda self: self.restores_left > 0 and self.copies_left < COPIES)
    @rule(at=AT)
    def restore(self, at: int) -> None:
        self.checked()
        if self.site.restore(at):
            self.restores_left -= 1
            self.before = guarded_rows(self.site.database)

    @invariant()
    def honest(self) -> None:
        self.world.assert_honest()

    def teardown(self) -> None:
        try:
            self.world.settle()
            self.checked(settled=True)
        finally:
            self.end_site()

    def end_site(self) -> None:
        """A site that lives longer than one example stays."""

    def checked(self, settled: bool = False) -> None:
        """Everything that can be asked of the server; tablets are asked too once all has arrived."""
        held = [one.held for one in self.world.tablets] if settled else []
        self.before = assert_invariants(self.site.database, held, before=self.before)

    def tablet(self, who: int) -> SimTablet:
        return self.world.tablets[who]
