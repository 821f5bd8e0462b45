"""What went differently in some of the past setups, and in which."""

from __future__ import annotations

import datetime as dt
from random import Random

from api.use_cases.demo.times import CREEPING, LAST, Slot, midnight

# How many of a hundred setups tell each story; every one is told at least once.
ALONE = {
    "rejected": 1.5,
    "abandoned": 0.5,
    "taken over": 2.5,
    "reworked": 1.5,
    "accepted": 2,
    "interrupted": 4,
    "added later": 2,
    "wrong PIN": 1,
}
BESIDE = {
    "mover": 13,
    "misread": 5,
    "screw stuck": 4,
    "part not down": 2,
    "corrected": 4,
    "step undone": 1.5,
    "scrap": 5,
    "offline": 6,
    "checked": 8,
}
OVERDUE = "overdue wrench"
OVERDUE_DAYS = 23
OVERDUE_SETUPS = 3
QUIET_AFTER = frozenset({"rejected", "abandoned"})
NEEDS_NETWORK = frozenset({"taken over"})


def hand_out(slots: list[Slot], today: dt.date, random: Random) -> None:
    """Gives the slots their stories; the last setup of every plate goes without
    one, unless nobody else could have taken the overdue wrench."""
    open_to = slots[: max(0, len(slots) - len(LAST))]
    for slot in (_recent(open_to, today) or _recent(slots[:-1], today))[-OVERDUE_SETUPS:]:
        slot.stories.add(OVERDUE)
    for story, share in ALONE.items():
        free = [slot for slot in open_to if not slot.stories and _may_tell(slot, story)]
        for slot in random.sample(free, min(_times(share, slots), len(free))):
            slot.stories.add(story)
    for story, share in BESIDE.items():
        for _ in range(_times(share, slots)):
            _add_beside(open_to, story, random)


def _recent(slots: list[Slot], today: dt.date) -> list[Slot]:
    """Those after the wrench became overdue."""
    return [slot for slot in slots if slot.start > midnight(today, -OVERDUE_DAYS)]


def _add_beside(slots: list[Slot], story: str, random: Random) -> None:
    """To one of the slots that have the fewest stories so far."""
    apart = {story} | QUIET_AFTER | (NEEDS_NETWORK if story == "offline" else set())
    fit = [slot for slot in slots if not slot.stories & apart]
    fewest = min((len(slot.stories) for slot in fit), default=0)
    fit = [slot for slot in fit if len(slot.stories) == fewest]
    if fit:
        random.choice(fit).stories.add(story)


def _times(share: float, slots: list[Slot]) -> int:
    return max(1, round(share * len(slots) / 100))


def _may_tell(slot: Slot, story: str) -> bool:
    """The creeping plate keeps to its creep: nothing on it is read out of limits on purpose."""
    return slot.plate != CREEPING or story not in {"rejected", "reworked", "accepted"}
