"""Whether an event can mean anything in a setup as it stands."""

from __future__ import annotations

from api.domain.events import Event
from api.domain.setups.current import OVER
from api.domain.setups.state import Setup

ANSWERS: dict[str, frozenset[str]] = {
    "clamp tightened": frozenset({"torque", "ease"}),
    "clamp moved on re-check": frozenset({"recheck", "touch"}),
    "reading taken": frozenset({"read"}),
    "step done": frozenset(
        {
            *("clean", "free", "grease", "lock", "unlock", "zero", "load", "snug"),
            *("recheck", "lift", "gap", "touch", "machine", "unload"),
        }
    ),
}
AFTER_THE_END = frozenset({"note", "trouble", "correction", "after-signature addition"})


def fits(setup: Setup, event: Event) -> bool:
    """False for records before the opening, after the end, or at a step of another kind.

    Such records stay in the log and are shown as odd; they change nothing.
    """
    if setup.opened is None or not setup.plan:
        return False
    if setup.phase in OVER and event.kind not in AFTER_THE_END:
        return False
    kinds = ANSWERS.get(event.kind)
    return kinds is None or _step_fits(setup, event, kinds)


def _step_fits(setup: Setup, event: Event, kinds: frozenset[str]) -> bool:
    step = next((one for one in setup.plan if one["id"] == event.step), None)
    if step is None or step["kind"] not in kinds:
        return False
    named = event.data.get("clamp", event.data.get("point"))
    return named is None or named == step["subject"]["id"]
