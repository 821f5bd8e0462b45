"""Which step comes next, and what has to be judged before a signature."""

from __future__ import annotations

from typing import Any

from api.domain.setups.state import Setup

OVER = frozenset({"finished", "rejected", "abandoned"})


def causes(setup: Setup) -> list[str]:
    """What a named person must judge, each as a stable word that changes when the fact does."""
    found = [
        f"reading:{reading.step}:{reading.final.event}"
        for reading in setup.readings.values()
        if reading.final is not None and reading.final.out
    ]
    found += [
        f"touch:{step_id}"
        for step_id, status in setup.steps.items()
        if status.state == "moved" and step_id.startswith("touch/")
    ]
    found += [f"trouble:{one.event}" for one in setup.troubles if one.open]
    found += [f"flag:{event}" for event, flag in setup.flags if flag == "locked with open clamps"]
    return found


def unjudged(setup: Setup) -> list[str]:
    """The causes that no judgement has covered yet."""
    judged = setup.judgement.causes if setup.judgement else []
    return [cause for cause in causes(setup) if cause not in judged]


def counted_steps(setup: Setup) -> list[dict[str, Any]]:
    """The steps that count for progress: judging only when there is something to judge."""
    needed = bool(unjudged(setup)) or setup.judgement is not None
    return [step for step in setup.plan if step["kind"] != "judge" or needed]


def current(setup: Setup) -> str | None:
    """The one step to do now; None once nothing is left or the setup is over.

    An undone step keeps back every later step whose kind it blocks. A step left in trouble
    or with two answers is offered again only when nothing else can be done.
    """
    if setup.phase in OVER:
        return None
    offered = [step["id"] for step in available(setup)]
    fresh = [one for one in offered if setup.steps[one].state in ("open", "second entry")]
    return next(iter(fresh or offered), None)


def available(setup: Setup) -> list[dict[str, Any]]:
    """Every undone step that no earlier undone step blocks, in plan order."""
    blocked: set[str] = set()
    found = []
    for step in undone(setup):
        if step["kind"] not in blocked:
            found.append(step)
        blocked.update(step["blocks"])
    return found


def undone(setup: Setup) -> list[dict[str, Any]]:
    to_judge = bool(unjudged(setup))
    return [
        step
        for step in setup.plan
        if (to_judge if step["kind"] == "judge" else setup.steps[step["id"]].undone)
    ]
