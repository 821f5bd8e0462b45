"""Power cuts at seeded moments of real work: tablets push all the while, and nothing is lost or doubled."""

from __future__ import annotations

import random
import threading
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import partial

from tests.support.invariants import assert_invariants, guarded_rows
from tests.support.net import PATIENCE_S, wait_until
from tests.support.shop import enrol
from tests.support.sim.machine import Machine
from tests.support.sim.served import ServedSite
from tests.support.sim.tablet import SimTablet
from tests.support.sim.world import World

TABLETS, BATCHES, KILLS = 8, 7, 5
MOST_A_BATCH = 4


def work(world: World, tablet: SimTablet, up: threading.Event, batches: Sequence[int]) -> None:
    """Ticks its batches and sends until nothing is left; waits while nobody serves."""
    for size in batches:
        for _ in range(size):
            tablet.tick()
        send(world, tablet, up)
    while tablet.state["outbox"]:
        send(world, tablet, up)


def send(world: World, tablet: SimTablet, up: threading.Event) -> None:
    assert up.wait(PATIENCE_S)
    tablet.feed({"type": "timer"})
    while tablet.wire:
        world.deliver(tablet)


def kill_now_and_then(
    served: ServedSite, tablets: Sequence[SimTablet], up: threading.Event, moments: Sequence[int]
) -> None:
    """Each time after so many answers in all, whatever the server is doing just then."""
    for moment in moments:
        wait_until(partial(has_answered, tablets, moment), what=f"{moment} answers")
        up.clear()
        served.restart()
        up.set()


def has_answered(tablets: Sequence[SimTablet], enough: int) -> bool:
    return sum(len(one.answered) for one in tablets) >= enough


def test_five_power_cuts_while_eight_tablets_push_lose_and_double_nothing(
    served: ServedSite,
) -> None:
    up, chance = threading.Event(), random.Random(5)
    up.set()
    sizes = [[chance.randint(1, MOST_A_BATCH) for _ in range(BATCHES)] for _ in range(TABLETS)]
    most = sum(map(sum, sizes)) * 9 // 10
    moments = sorted(chance.sample(range(5, most), KILLS))
    with Machine() as machine:
        tablets = [SimTablet(f"tab-{number}", machine) for number in range(TABLETS)]
        for tablet in tablets:
            enrol(served, tablet.writer)
        before = guarded_rows(served.database)
        world = World(served.door, tablets, lambda one: enrol(served, one.writer))
        with ThreadPoolExecutor(TABLETS + 1) as pool:
            kills = pool.submit(kill_now_and_then, served, tablets, up, moments)
            jobs = [
                pool.submit(work, world, tablet, up, batches)
                for tablet, batches in zip(tablets, sizes, strict=True)
            ]
            for job in (*jobs, kills):
                job.result()
        world.assert_honest()
        assert_invariants(served.database, [one.held for one in tablets], before=before)
        assert all(not one.state["outbox"] for one in tablets)
