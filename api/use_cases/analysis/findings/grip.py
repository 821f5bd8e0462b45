"""Findings about the grip against the cuts."""

from __future__ import annotations

from collections.abc import Iterator

from api.domain.analyses.result import Check, ClampResult
from api.domain.designs.document import Station
from api.mechanics.screws.friction_data import one_class_worse
from api.mechanics.whole.holding import Held
from api.mechanics.whole.tightening import side_force
from api.use_cases.analysis.computing import Computed
from api.use_cases.analysis.remedies import Remedies
from api.use_cases.analysis.sentences import kn, times

WANTED_HOLD = 2.0


def holds(done: Computed, remedies: Remedies) -> Iterator[Check]:
    """Stations alike in the same trouble share a sentence, told of the worst."""
    weak: dict[tuple[str, str | None], list[tuple[float, Station, Held]]] = {}
    for station, held in zip(done.ground.design.stations, done.holds, strict=True):
        if held is not None and held.margins.overall < WANTED_HOLD:
            key = (held.tool, held.margins.mode)
            weak.setdefault(key, []).append((held.margins.overall, station, held))
    for entries in weak.values():
        margin, station, held = min(entries, key=lambda entry: entry[0])
        more = f" (and {len(entries) - 1} more)" if len(entries) > 1 else ""
        yield Check(
            code="grip-fails" if margin < 1 else "grip-weak",
            level="stop" if margin < 1 else "advice",
            subject=f"station {station.id}",
            message=f"{station.id}{more} {_motion(held)}: "
            + (
                f"the cut {held.tool!r} asks {times(1 / margin)} what the grip holds at low friction and "
                "low force"
                if 0 < margin < 1
                else held.margins.reason
                or f"the grip holds only {times(margin)} the peak of the cut {held.tool!r}, at least "
                f"{WANTED_HOLD:g} times is usual"
            ),
            fix=remedies.for_grip(held, margin),
        )


def _motion(held: Held) -> str:
    words = {"slip": "can slip", "lift": "can lift", "tip": "can tip", "turn": "can turn"}
    return words.get(held.margins.mode or "", "is not held")


def washed_out(done: Computed, clamps: dict[str, ClampResult]) -> Iterator[Check]:
    """What is left when coolant has washed the grease out: friction one class worse."""
    worst: tuple[float, str, float] | None = None
    for clamp, jack in zip(done.ground.design.clamps, done.found.assembly.jacks, strict=True):
        if jack.scatter is not None:
            continue
        try:
            left = float(side_force(jack, float(one_class_worse(jack.friction.usual))).side_n)
        except ValueError:
            left = 0.0
        share = left / clamps[clamp.id].side_n.usual
        if worst is None or share < worst[0]:
            worst = (share, clamp.id, left)
    if worst is None:
        return
    share, name, left = worst
    margins = [held.margins.overall for held in done.holds if held is not None]
    grip = f"; the grip then holds about {times(min(margins) * share)} the cut" if margins else ""
    every = done.ground.design.care.grease_every
    yield Check(
        code="grease-washed-out",
        level="advice" if margins and min(margins) >= 1 > min(margins) * share else "note",
        subject=f"clamp {name}",
        message=f"with its grease washed out, {name} presses with an estimated {kn(left)} instead of "
        f"{kn(clamps[name].side_n.usual)} at the same torque{grip}",
        fix=f"grease thread and cone on time (every {every} setups here), sooner with flood coolant",
    )


def cuts(done: Computed) -> Iterator[Check]:
    if done.ground.design.cuts and all(held is None for held in done.holds):
        material = done.ground.design.part.material
        yield Check(
            code="no-cutting-data",
            level="advice",
            subject="part",
            message=f"{material} has no cutting constants in the stores, so the grip is not computed",
            fix=f"add kc1.1 and mc of {material} under Stores, Materials",
        )
    told: set[str] = set()
    for held in done.holds:
        for note in held.load.notes if held is not None else ():
            if note not in told:
                told.add(note)
                yield Check(
                    code="cut-note",
                    level="note",
                    subject=f"cut {held.tool}" if held is not None else "cut",
                    message=note.rstrip("."),
                    fix="prove the cut out at reduced feed",
                )
