"""The life of one setup, from the plate on the bench to the parts in the box.

A life is a generator: it does what can be done now and yields when it wants to go on.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any

from api.domain.errors import Clash
from api.use_cases.demo import wording
from api.use_cases.demo.run import Run
from api.use_cases.demo.scene import Scene
from api.use_cases.demo.tablet import Tablet
from api.use_cases.demo.times import Slot

Life = Iterator[dt.datetime]
LONGEST_WAIT = dt.timedelta(days=6)
RUN_MINUTES = {"SAD-20": (62, 84), "CLR-08": (31, 44)}


def life_of(scene: Scene, slot: Slot, *, stays_ready: bool) -> Life:
    yield slot.start
    yield from _plate_free(scene, slot)
    tablet, person = _hands(scene, slot)
    yield from _tablet_free(scene, tablet)
    run = Run(scene, slot, tablet, person)
    yield from _at_the_bench(run)
    if run.setup.phase == "rejected":
        yield dt.datetime.combine(slot.start.date() + dt.timedelta(days=1), dt.time(6, 5), dt.UTC)
        scene.free_plate(slot.plate)
    if run.setup.phase == "signed" and not stays_ready:
        yield from _in_the_machine(run)


def _at_the_bench(run: Run) -> Life:
    marks = _marks(run)
    if run.told("offline"):
        run.tablet.offline_until = run.tablet.now + dt.timedelta(
            minutes=run.random.uniform(100, 220)
        )
    while (step := run.step()) is not None and step["kind"] != "machine":
        story = marks.pop(step["id"], None)
        if story is not None:
            yield from _tell(run, step, story)
            continue
        if step["kind"] == "sign" and run.told("corrected"):
            refers, value = run.correct()
            data = {"refers": refers, "reason": run.one_of(wording.CORRECTIONS), **value}
            run.write("correction", None, data, seconds=30)
            continue
        run.answer(step)
        if step["kind"] == "sign":
            yield from _after_signing(run)


def _after_signing(run: Run) -> Life:
    if "wrong PIN" in run.slot.stories and not run.verdicts:
        while run.tablet.next_push is not None:
            yield run.tablet.next_push + dt.timedelta(seconds=1)
        run.learn_verdicts()
        yield from _tablet_free(run.scene, run.tablet)
        return
    if run.told("added later"):
        _add_later(run)
    elif run.setup.second_wanted or run.told("checked"):
        run.countersign(run.random.choice(run.scene.judges))


def _add_later(run: Run) -> None:
    if run.random.random() < 0.3:
        data = {"adds": "note", "text": run.one_of(wording.LATE_NOTES)}
    else:
        refers, value = run.correct()
        reason = run.one_of(wording.CORRECTIONS)
        data = {"adds": "correction", "refers": refers, "reason": reason, **value}
    run.write("after-signature addition", None, data, seconds=run.random.uniform(60, 200))


def _marks(run: Run) -> dict[str, str]:
    """At which step each story begins."""
    plan = run.setup.plan
    by_kind: dict[str, list[str]] = {}
    for step in plan:
        by_kind.setdefault(step["kind"], []).append(step["id"])
    last_pass = max(step["pass"] or 0 for step in plan)
    passes = [step["id"] for step in plan if step["kind"] == "torque" and step["pass"] == last_pass]
    places = {
        "screw stuck": by_kind["torque"][: len(passes)],
        "part not down": by_kind["load"],
        "step undone": by_kind["free"],
        "interrupted": passes[1:-1],
        "taken over": passes[2:],
        "abandoned": by_kind["snug"],
    }
    return {run.random.choice(places[story]): story for story in places if run.told(story)}


def _tell(run: Run, step: dict[str, Any], story: str) -> Life:
    match story:
        case "screw stuck":
            text, clamp = run.one_of(wording.STUCK), step["subject"]["id"]
            data = {"what": "would not turn", "text": text, "clamp": clamp}
            run.write("trouble", step["id"], data, seconds=25)
        case "part not down":
            text = run.one_of(wording.NOT_DOWN)
            run.write("trouble", step["id"], {"what": "part not down", "text": text}, seconds=20)
            run.write("note", None, {"text": run.one_of(wording.BENCH_NOTES)}, seconds=40)
        case "step undone":
            cleaned = next(one for one in reversed(run.events) if _is_cleaning(one.step))
            reason = run.one_of(wording.UNDONE)
            data = {"refers": cleaned.id, "reason": reason, "undo": True}
            run.write("correction", None, data, seconds=20)
        case "interrupted":
            yield from _interrupted(run, step)
        case "taken over":
            yield from _taken_over(run, step)
        case "abandoned":
            reason = run.one_of(wording.ABANDONED)
            run.write("abandoned", step["id"], {"reason": reason}, seconds=60)


def _is_cleaning(step: str | None) -> bool:
    return step is not None and step.startswith("clean/")


def _interrupted(run: Run, step: dict[str, Any]) -> Life:
    """The running pass starts again from its first clamp."""
    reason = run.random.choice(("left", "break", "tablet restarted"))
    run.write("paused", step["id"], {"reason": reason}, seconds=15)
    minutes = (
        run.random.uniform(1, 3) if reason == "tablet restarted" else run.random.uniform(8, 25)
    )
    yield run.tablet.now + dt.timedelta(minutes=minutes)
    yield from _tablet_free(run.scene, run.tablet)
    if reason == "tablet restarted":
        run.tablet.wake()


def _taken_over(run: Run, step: dict[str, Any]) -> Life:
    """Somebody else goes on, on the other tablet, with the pass from its first clamp."""
    run.write("paused", step["id"], {"reason": "left"}, seconds=15)
    data = {"from": run.person, "from_tablet": run.tablet.id}
    yield run.tablet.now + dt.timedelta(minutes=run.random.uniform(5, 30))
    run.tablet = next(one for one in run.scene.tablets if one is not run.tablet)
    run.person = next(one for one in run.scene.operators if one != run.person)
    yield from _tablet_free(run.scene, run.tablet)
    run.write("taken over", None, data, seconds=20)


def _in_the_machine(run: Run) -> Life:
    yield run.tablet.now + dt.timedelta(minutes=run.random.uniform(3, 35))
    yield from _tablet_free(run.scene, run.tablet)
    _do(run, "machine")
    yield run.tablet.now + dt.timedelta(
        minutes=run.random.uniform(*RUN_MINUTES[run.sheet["design"]])
    )
    yield from _tablet_free(run.scene, run.tablet)
    _do(run, "ease", "unload")


def _do(run: Run, *kinds: str) -> None:
    while (step := run.step()) is not None and step["kind"] in kinds:
        run.answer(step)


def _plate_free(scene: Scene, slot: Slot) -> Life:
    while scene.plate_state(slot.plate) != "free":
        if scene.clock.now() > slot.start + LONGEST_WAIT:
            raise Clash(f"Plate {slot.plate} never came free in the demonstration.")
        yield scene.clock.now() + dt.timedelta(minutes=20)


def _tablet_free(scene: Scene, tablet: Tablet) -> Life:
    """Waits until nobody else works on the tablet; its time is then the clock's."""
    while tablet.now > scene.clock.now():
        yield tablet.now + dt.timedelta(seconds=5)
    tablet.now = scene.clock.now()


def _hands(scene: Scene, slot: Slot) -> tuple[Tablet, str]:
    """The tablet that is free, or free first; the operator of the shift."""
    tablet = min(scene.tablets, key=lambda one: max(one.now, scene.clock.now()))
    if slot.n % 3 == 0 and scene.tablets[1].now <= scene.clock.now():
        tablet = scene.tablets[1]
    if tablet.now.date() < slot.start.date():
        tablet.now = scene.clock.now()
        tablet.wake()
    return tablet, scene.operators[int(slot.late_shift) % len(scene.operators)]
