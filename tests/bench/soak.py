"""`python -m tests.bench.soak`: tablets against a real server while everything goes wrong, by a seed.

It prints what was sent, stored, delivered again, set aside, doubled and lost, and ends with status 1
when anything was doubled or lost or when what the server wrote down does not fit together.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

from tests.bench.soaking.crew import Hand, TimedDoor
from tests.bench.soaking.figures import Figures
from tests.bench.soaking.weather import Weather
from tests.support.bad_network import BadNetwork
from tests.support.invariants import assert_invariants, guarded_rows
from tests.support.postgres import Cluster, new_address
from tests.support.shop import enrol
from tests.support.sim.machine import Machine
from tests.support.sim.served import ServedSite
from tests.support.sim.tablet import SimTablet

GIVE_UP_S = 20.0  # as the bench
LOSS = 0.1


def main(words: Sequence[str] | None = None) -> int:
    asked = _asked(words)
    figures = Figures()
    with (
        tempfile.TemporaryDirectory(prefix="clampbook-soak-") as folder,
        _site(Path(folder), asked.engine) as site,
        BadNetwork(site.server.port, loss=LOSS, seed=asked.seed) as network,
        Machine() as machine,
    ):
        door = TimedDoor(network.url, figures, GIVE_UP_S)
        tablets = [SimTablet(f"soak-{number:03}", machine) for number in range(asked.tablets)]
        for tablet in tablets:
            enrol(site, tablet.writer)
        chance = random.Random(asked.seed)
        hands = [Hand(one, door, asked.pause, random.Random(chance.random())) for one in tablets]
        weather = Weather(site, network, figures, random.Random(chance.random()))
        seconds = _play(hands, weather, 60 * asked.minutes)
        door.close()
        sound = _judged(site, tablets, figures)
    print(f"{asked.tablets} tablets, {seconds:.0f} s, seed {asked.seed}, {asked.engine}")
    for line in figures.lines(seconds):
        print(line)
    return 0 if sound and not figures.counted["lost"] + figures.counted["doubled"] else 1


def _play(hands: Sequence[Hand], weather: Weather, for_s: float) -> float:
    """Everybody works while things go wrong; then everything works until all has arrived."""
    began_s, ends = time.monotonic(), threading.Event()
    with ThreadPoolExecutor(len(hands) + 1) as pool:
        blowing = pool.submit(weather.run)
        jobs = [pool.submit(hand.work, ends) for hand in hands]
        while time.monotonic() - began_s < for_s and not any(job.done() for job in jobs):
            ends.wait(0.5)
        ends.set()
        weather.ends.set()
        for job in (*jobs, blowing):
            job.result()
        seconds = time.monotonic() - began_s
        for finished in [pool.submit(hand.finish) for hand in hands]:
            finished.result()
    return seconds


def _judged(site: ServedSite, tablets: Sequence[SimTablet], figures: Figures) -> bool:
    """Counts what is on the server against what was ticked, then asks for every invariant."""
    rows = guarded_rows(site.database)
    texts = Counter(row["text"] for row in rows["event"].values())
    aside = Counter(row["text"] for row in rows["set_aside"].values())
    ticked = [row.text for tablet in tablets for row in tablet.rows.values()]
    figures.count("stored", sum(texts[text] for text in ticked))
    figures.count("set aside", sum(aside[text] for text in ticked))
    figures.count("doubled", sum(texts[text] + aside[text] > 1 for text in ticked))
    figures.count("lost", sum(texts[text] + aside[text] == 0 for text in ticked))
    try:
        assert_invariants(site.database, [one.held for one in tablets])
    except AssertionError as problem:
        print(f"An invariant does not hold: {problem}", file=sys.stderr)
        return False
    return True


@contextmanager
def _site(folder: Path, engine: str) -> Iterator[ServedSite]:
    cluster = Cluster() if engine == "postgresql" else None
    try:
        if cluster is not None:
            cluster.start()
        site = ServedSite(folder, new_address(cluster.url) if cluster else "")
        try:
            yield site
        finally:
            site.close()
    finally:
        if cluster is not None:
            cluster.stop()


def _asked(words: Sequence[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.soak", description=__doc__)
    parser.add_argument("--tablets", type=int, default=50)
    parser.add_argument("--minutes", type=float, default=5)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--pause", type=float, default=5.0, help="seconds between two pushes")
    parser.add_argument("--engine", choices=["sqlite", "postgresql"], default="sqlite")
    return parser.parse_args(words)


if __name__ == "__main__":
    sys.exit(main())
