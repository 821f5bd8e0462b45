"""Signatures over a setup, and what comes after them."""

from __future__ import annotations

from api.domain.events import Event
from api.domain.setups.answering import answer
from api.domain.setups.current import undone
from api.domain.setups.state import Setup, Signature, StepStatus, Verdict

AFTER_RUN = frozenset({"machine", "ease", "unload"})
WITHOUT_CONTENT = frozenset({"signed", "countersigned", "paused", "taken over"})


def note_lateness(setup: Setup, event: Event) -> None:
    """A record that no valid signature covers asks for a new signature."""
    if event.kind in WITHOUT_CONTENT or _after_run(setup, event):
        return
    signed = setup.valid_signatures
    if signed and not any(event.id in one.covers for one in signed):
        setup.after_signature.append(event.id)
        setup.steps["sign"] = StepStatus()


def sign(setup: Setup, event: Event, verdict: Verdict) -> None:
    """Take a signature; a refused one stays on record but signs nothing."""
    data = event.data
    setup.signatures.append(
        Signature(
            event.id,
            event.person,
            data["meaning"],
            list(data["covers"]["events"]),
            verdict,
            event.kind == "countersigned",
        )
    )
    if verdict == "refused" or event.kind == "countersigned":
        return
    before = [step["id"] for step in undone(setup)]
    if before and before[0] != "sign" and setup.steps["sign"].undone:
        setup.flags.append((event.id, "signed with open steps"))
    status = setup.steps["sign"]
    if status.undone:
        answer(setup, event)


def unsigned_additions(setup: Setup) -> list[str]:
    """Records after a signature that no later valid signature covers."""
    covered = {one for signature in setup.valid_signatures for one in signature.covers}
    return [event for event in setup.after_signature if event not in covered]


def _after_run(setup: Setup, event: Event) -> bool:
    return any(step["id"] == event.step and step["kind"] in AFTER_RUN for step in setup.plan)
