"""Marking a step as answered, and opening it again."""

from __future__ import annotations

from api.domain.events import Event
from api.domain.setups.state import Setup, StepStatus


def answer(setup: Setup, event: Event, state: str = "done") -> bool:
    """Mark the event's step; False when it is unknown or another tablet had answered it."""
    status = setup.steps.get(event.step or "")
    if status is None:
        setup.odd.append(event.id)
        return False
    setup.step_of_event[event.id] = event.step or ""
    status.answers.append(event.id)
    answered = status.state in ("done", "moved", "two answers")
    if answered and (status.tablet != event.tablet or status.state == "two answers"):
        status.state = "two answers"
        return False
    status.state = "moved" if state == "moved" else "done"
    status.event, status.tablet = event.id, event.tablet
    status.person, status.at = event.person, event.at
    close_troubles(setup, event.step or "")
    return True


def close_troubles(setup: Setup, step_id: str) -> None:
    """Doing a step settles the troubles reported at it."""
    for trouble in setup.troubles:
        if trouble.step == step_id:
            trouble.open = False


def reopen(setup: Setup, step_ids: list[str]) -> None:
    for step_id in step_ids:
        setup.steps[step_id] = StepStatus()
        setup.readings.pop(step_id, None)
