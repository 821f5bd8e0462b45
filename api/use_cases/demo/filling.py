"""Fills an empty shop: registers, then the past setups in the order of time, in one transaction."""

from __future__ import annotations

import datetime as dt
import heapq
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from random import Random

from api.use_cases.demo import doubts, stores, stories
from api.use_cases.demo.founding import (
    found,
    later_revisions,
    load_and_release,
    refuse_filled,
    withdraw_older,
)
from api.use_cases.demo.joined import Joined
from api.use_cases.demo.life import Life, life_of
from api.use_cases.demo.pins import Remembering
from api.use_cases.demo.scene import Scene
from api.use_cases.demo.tablet import BUILD, Tablet
from api.use_cases.demo.times import PAST_DAYS, SetClock, Slot, midnight, slots
from api.use_cases.ports import Means, Sealer, Signer, UnitOfWork
from api.use_cases.records.accepting import BY_CALLER, accept_events

Progress = Callable[[int, int, str], None]
SETUPS = 200
SEED = 20
BATCH = 200
FOUNDED = dt.timedelta(hours=6)
REVISED_DAYS = -150
WITHDRAWN_AFTER_DAYS = 14


def silent(done: int, total: int, words: str) -> None:
    """For those who do not wait."""


def fill(
    uow_factory: Callable[[], UnitOfWork],
    means: Means,
    sealer: Sealer,
    new_key: Callable[[], Signer],
    folder: Path,
    today: dt.date,
    seed: int = SEED,
    setups: int = SETUPS,
    progress: Progress = silent,
) -> None:
    """Makes the demonstration shop as it stands on `today`; all of it, or nothing if it fails.

    `folder` holds the seed files. The same seed and day give the same records, but for the
    sealed PINs and the tablets' keys. Raises `Clash` if the shop holds anything already.
    """
    with uow_factory() as uow:
        joined = Joined(uow)
        refuse_filled(joined)
        progress(0, setups, "stores, people, designs and plates")
        clock = SetClock(midnight(today, -PAST_DAYS) + FOUNDED)
        past = replace(means, clock=clock, pins=Remembering(means.pins))
        found(joined, past, folder, today, lambda words, _: progress(0, setups, words))
        scene = Scene(joined, past, clock, sealer, new_key, folder, seed)
        random = Random(f"{seed}/slots")  # noqa: S311 not for secrets
        planned = slots(today, setups, random)
        stories.hand_out(planned, today, random)
        Course(scene, progress, setups).run(
            [*_register_changes(scene, today), *_lives(scene, planned)]
        )
        doubts.leave(scene)
        joined.tablets.settle()
        uow.commit()


@dataclass
class Course:
    """Lets lives go on and tablets send, always the one that is due first."""

    scene: Scene
    progress: Progress
    total: int
    done: int = 0
    waiting: list[tuple[dt.datetime, int, Life]] = field(default_factory=list)
    order: int = 0
    sending: set[str] = field(default_factory=set)

    def run(self, lives: list[Life]) -> None:
        for life in lives:
            self._go_on(life)
        while self.waiting:
            at, _, life = heapq.heappop(self.waiting)
            self.scene.clock.set(at)
            self._go_on(life)
            for tablet in self.scene.tablets:
                self._plan_push(tablet)

    def _go_on(self, life: Life) -> None:
        at = next(life, None)
        if at is not None:
            self.order += 1
            heapq.heappush(self.waiting, (at, self.order, life))

    def _plan_push(self, tablet: Tablet) -> None:
        if tablet.next_push is not None and tablet.id not in self.sending:
            self.sending.add(tablet.id)
            self._go_on(self._push(tablet))

    def _push(self, tablet: Tablet) -> Life:
        at = tablet.next_push
        while at is not None and at > self.scene.clock.now():
            yield at
            at = tablet.next_push
        self.sending.discard(tablet.id)
        texts = tablet.take(self.scene.clock.now())
        for start in range(0, len(texts), BATCH):
            batch = texts[start : start + BATCH]
            accept_events(
                self.scene.uow,
                self.scene.means,
                tablet.id,
                BUILD,
                batch,
                tablet.signed(batch),
                policy=BY_CALLER,
            )
        opened = sum('"kind":"setup opened"' in text for text in texts)
        if opened:
            self.done += opened
            self.progress(self.done, self.total, f"past setups, {self.scene.clock.now():%d %b %Y}")


def _lives(scene: Scene, planned: list[Slot]) -> Iterator[Life]:
    """Every setup; the newest of all stays on the bench, ready for the machine."""
    for slot in planned:
        yield life_of(scene, slot, stays_ready=slot is planned[-1])


def _register_changes(scene: Scene, today: dt.date) -> Iterator[Life]:
    for kind in stores.KINDS:
        for change in stores.changes(scene.folder, kind, today):
            yield _change_item(scene, change, midnight(today, change.days) + FOUNDED)
    for path in later_revisions(scene.folder):
        yield _revise(scene, path, midnight(today, REVISED_DAYS) + FOUNDED)


def _change_item(scene: Scene, change: stores.Change, at: dt.datetime) -> Life:
    yield at
    scene.change_item(change)


def _revise(scene: Scene, path: Path, at: dt.datetime) -> Life:
    """The older revision leaves the bench once nobody is at work on it any more."""
    yield at
    load_and_release(scene.uow, scene.means, path)
    yield at + dt.timedelta(days=WITHDRAWN_AFTER_DAYS)
    withdraw_older(scene.uow, scene.means, path)
