"""Judging a signature: the covered records must be here and unaltered, and the PIN must fit."""

from __future__ import annotations

import binascii
import datetime as dt
from base64 import b64decode
from dataclasses import dataclass
from typing import Any

from api.domain.chain import text_hash
from api.domain.errors import BadInput
from api.domain.events import Event, covered_hash, signing_info
from api.domain.people import Action, may
from api.domain.records import StoredSignature, Tablet, Verdict
from api.domain.setups import Setup
from api.use_cases import credentials
from api.use_cases.ports import Means, UnitOfWork

SIGNING = frozenset({"signed", "countersigned"})
LONGEST_PIN = 64


@dataclass(frozen=True, slots=True)
class Judged:
    verdict: Verdict
    reason: str | None = None
    retry_at: dt.datetime | None = None


def judge_first(
    uow: UnitOfWork, means: Means, event: Event, tablet: Tablet, setup: Setup
) -> Judged:
    """The verdict on a signature event that has just arrived."""
    if tablet.revoked_at is not None:
        return Judged("refused", "Its tablet was revoked before it arrived.")
    if uow.signatures.with_sealed(text_hash(str(event.data["sealed"]))) is not None:
        return Judged("refused", "This sealed PIN was used before; sign again.")
    return judge(uow, means, event, setup)


def judge(uow: UnitOfWork, means: Means, event: Event, setup: Setup) -> Judged:
    """The verdict, first or again; a wrong PIN counts against the badge."""
    if event.kind == "countersigned" and event.person in setup.signers:
        return Judged("refused", "A second person countersigns.")
    missing = _cover_problem(uow, event)
    if missing is not None:
        return missing
    person = uow.people.get(event.person or "")
    if person is None:
        return Judged("refused", "Nobody of the crew carries this badge.")
    if not may(person, Action.SIGN):
        state = "is no longer active" if not person.active else f"may not sign ({person.role})"
        return Judged("refused", f"{person.badge} {state}.")
    return _judge_pin(uow, means, event)


def record(
    uow: UnitOfWork,
    means: Means,
    event: Event,
    judged: Judged,
    before: StoredSignature | None = None,
) -> bool:
    """Keeps the verdict and writes it into the journal; False when it is as it was."""
    fresh = StoredSignature(
        event=event.id,
        setup=event.setup,
        person=event.person or "",
        meaning=str(event.data["meaning"]),
        verdict=judged.verdict,
        reason=judged.reason,
        seq=before.seq if before else 0,
        retry_at=judged.retry_at,
        sealed=text_hash(str(event.data["sealed"])),
    )
    if fresh == before:
        return False
    uow.signatures.save(fresh, means.clock.now())
    return True


def _cover_problem(uow: UnitOfWork, event: Event) -> Judged | None:
    covers: dict[str, Any] = event.data["covers"]
    found = uow.events.found(covers["events"])
    missing = [one for one in covers["events"] if one not in found]
    if missing:
        return Judged(
            "provisional", f"{len(missing)} of the records it covers have not arrived yet."
        )
    if any(one.setup != event.setup for one in found.values()):
        return Judged("refused", "It covers records of another setup.")
    if covered_hash([found[one].hash for one in covers["events"]]) != covers["hash"]:
        return Judged("refused", "The records it covers differ from what was signed.")
    return None


def _judge_pin(uow: UnitOfWork, means: Means, event: Event) -> Judged:
    credential = uow.people.credential(event.person or "", "pin", to_change=True)
    if credential is None:
        return Judged("refused", f"{event.person} has no PIN yet; a lead sets one.")
    if credentials.locked_for(credential, means.clock.now()) is not None:
        return Judged(
            "provisional",
            "Too many wrong PINs; this one is compared when the lock ends.",
            credential.locked_until,
        )
    try:
        pin = _opened(means, event)
    except BadInput as problem:
        return Judged("refused", problem.message)
    if credentials.compare(uow, means, credential, pin):
        return Judged("confirmed")
    return Judged("refused", "Wrong PIN.")


def _opened(means: Means, event: Event) -> str:
    data = event.data
    try:
        sealed = b64decode(data["sealed"], validate=True)
    except (binascii.Error, ValueError):
        raise BadInput("The sealed PIN is not base64; sign again.") from None
    plain = means.opener.open(str(data["key"]), sealed, signing_info(event))
    return plain[:LONGEST_PIN].decode(errors="replace")
