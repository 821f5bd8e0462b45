"""Provisional signatures judged again: when a record they wait for arrives, or a lock ends."""

from __future__ import annotations

from api.use_cases.ports import Means, UnitOfWork
from api.use_cases.records import folding, projecting, verdicts
from api.use_cases.records.folding import Folded


def rejudge(
    uow: UnitOfWork,
    means: Means,
    folded: Folded,
    steps_of: folding.StepsOf,
    *,
    covering: str | None = None,
) -> bool:
    """Judges the setup's provisional signatures again; True when a verdict changed.

    With `covering`, only those that wait for that record.
    """
    changed = False
    for event in folded.parsed:
        if folded.verdicts.get(event.id) != "provisional":
            continue
        if covering is not None and covering not in event.data["covers"]["events"]:
            continue
        judged = verdicts.judge(uow, means, event, folded.setup)
        if verdicts.record(uow, means, event, judged, uow.signatures.get(event.id)):
            folded.verdicts[event.id] = judged.verdict
            changed = True
    if changed:
        folding.refold(folded, steps_of)
    return changed


def judge_due_signatures(uow: UnitOfWork, means: Means) -> int:
    """Compares PINs that had to wait for a lock to end; returns how many verdicts changed."""
    with uow:
        due = {one.setup for one in uow.signatures.due(means.clock.now())}
        if not due:
            return 0
        uow.events.lock()
        steps_of = folding.steps_from(uow)
        changed = 0
        for setup in sorted(due):
            folded = folding.load(uow, setup, steps_of)
            if rejudge(uow, means, folded, steps_of):
                projecting.save(uow, folded)
                changed += 1
        uow.shop.bump()
        uow.commit()
    return changed
