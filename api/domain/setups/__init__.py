"""One setup, folded from its events: `fold` is the only way its state comes about.

The tablet runs the same rules (web/src/shared/core/fold.ts); tests/vectors/fold.json fixes both.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from api.domain.events import Event
from api.domain.setups.apply import apply
from api.domain.setups.current import causes, counted_steps, current, unjudged
from api.domain.setups.signing import unsigned_additions
from api.domain.setups.state import Setup, Verdict
from api.domain.setups.view import to_json
from api.domain.steps import select

__all__ = [
    "Setup",
    "Verdict",
    "apply",
    "causes",
    "counted_steps",
    "current",
    "fold",
    "ordered",
    "to_json",
    "unjudged",
    "unsigned_additions",
]


def ordered(events: Sequence[Event]) -> list[Event]:
    """Server order, with each tablet's own records put in the order it made them.

    `events` come as the server numbered them. A batch that arrived out of order is set right
    by sorting every tablet's records by `n` within the places they hold.
    """
    by_tablet: dict[str, list[Event]] = {}
    for event in events:
        by_tablet.setdefault(event.tablet, []).append(event)
    queues = {
        tablet: iter(sorted(own, key=lambda event: event.n)) for tablet, own in by_tablet.items()
    }
    return [next(queues[event.tablet]) for event in events]


def fold(
    setup_id: str,
    steps: Iterable[dict[str, Any]],
    events: Sequence[Event],
    verdicts: Mapping[str, Verdict] | None = None,
    *,
    countersign: bool = False,
) -> Setup:
    """The state of a setup from its events.

    `steps` is the revision's frozen plan in JSON form; the facts of the opening event select
    from it. `verdicts` says of each signature event whether the server confirmed or refused it;
    with `countersign` the sheet asks for a second person's.
    """
    setup = Setup(setup_id, countersign=countersign)
    in_order = ordered(events)
    opening = next((event for event in in_order if event.kind == "setup opened"), None)
    if opening is not None:
        setup.plan = select(steps, opening.data["facts"])
    for event in in_order:
        apply(setup, event, verdicts or {})
    return setup
