"""Events: what a tablet records at each tap, parsed exactly as it was sent.

An event is one JSON object of at most `MAX_EVENT_BYTES` UTF-8 bytes. Its hash is the SHA-256
of those bytes as received; nothing here re-serialises them.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from decimal import Decimal, InvalidOperation
from typing import Annotated, Any
from uuid import UUID

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, ValidationError

from api.domain.errors import EventError
from api.domain.event_data import (
    DATA,
    NEEDS_STEP,
    AfterSignatureAddition,
    Correction,
    Data,
    Hash,
    Kind,
    Note,
    ReadingTaken,
    StepId,
    Uuid,
)
from api.domain.people import Badge

SCHEMA = 2
NO_PREVIOUS = "0" * 64
MAX_EVENT_BYTES = 65_536
MAX_DEPTH = 12


class Event(BaseModel):
    """One record; `data` stays as sent, having been checked against its kind's model."""

    model_config = ConfigDict(frozen=True, extra="allow")

    id: Uuid
    tablet: Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9-]{0,63}$")]
    n: Annotated[int, Field(ge=1, le=2**53 - 1)]
    prev: Hash
    setup: Uuid
    kind: Kind
    step: StepId | None = None
    person: Badge | None = None
    data: dict[str, Any]
    at: Annotated[str, StringConstraints(pattern=r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$")]
    elapsed: Annotated[float, Field(ge=0, le=1e15, allow_inf_nan=False)]
    clock_offset: Annotated[float, Field(ge=-1e15, le=1e15, allow_inf_nan=False)] | None = None
    schema_: Annotated[int, Field(alias="schema", ge=1, le=1000)]
    build: Annotated[str, StringConstraints(max_length=64)]


def hash_of(text: str) -> str:
    """SHA-256 of the event's bytes as the tablet froze them, in lower-case hexadecimal."""
    return hashlib.sha256(text.encode()).hexdigest()


def covered_hash(hashes: list[str]) -> str:
    """What a signature signs: SHA-256 over the covered events' hashes, a line each."""
    return hashlib.sha256("\n".join(hashes).encode()).hexdigest()


def signed_text(event_hash: str) -> str:
    """What a tablet's own key signs of each of its events."""
    return f"clampbook-event/1 {event_hash}"


def sealing_info(setup: str, covered: str, person: str, meaning: str, tablet: str) -> bytes:
    """What a PIN is sealed with, so that it opens for this signature alone."""
    return f"clampbook-sign/2 {setup} {covered} {person} {meaning} {tablet}".encode()


def signing_info(event: Event) -> bytes:
    """What the PIN of a signature event was sealed with; schema 1 named less."""
    covered, meaning = event.data["covers"]["hash"], event.data["meaning"]
    if event.schema_ == 1:
        return f"clampbook-sign/1 {event.setup} {covered}".encode()
    return sealing_info(event.setup, covered, event.person or "", meaning, event.tablet)


def parse(text: str) -> Event:
    """The event in `text`, or `EventError` naming the field and what would be right."""
    try:
        size = len(text.encode())
    except UnicodeEncodeError:
        raise EventError("The event holds half a character (a lone surrogate).") from None
    if size > MAX_EVENT_BYTES:
        raise EventError(f"The event has {size} bytes; at most {MAX_EVENT_BYTES} are taken.")
    _refuse_depth(text)
    try:
        raw = json.loads(text, parse_constant=_no_constant, object_pairs_hook=_no_doubles)
    except (ValueError, RecursionError) as reason:
        raise EventError(f"The event is not JSON: {reason}.") from None
    return from_raw(raw)


def from_raw(raw: object) -> Event:
    """The event in an already decoded JSON value."""
    if not isinstance(raw, dict):
        raise EventError("An event must be a JSON object.")
    try:
        event = Event.model_validate(raw)
        model_of(event).model_validate(event.data)
        dt.datetime.fromisoformat(event.at)
        UUID(event.id), UUID(event.setup)
    except ValidationError as problem:
        raise EventError(_first(problem)) from None
    except ValueError as reason:
        raise EventError(f"at: {reason}.", field="at") from None
    late_reading = event.kind not in NEEDS_STEP and event.data.get("adds") == "reading"
    if (event.kind in NEEDS_STEP or late_reading) and event.step is None:
        raise EventError(f"A record of kind '{event.kind}' must name its step.", field="step")
    return event


def model_of(event: Event) -> type[Data]:
    """What `data` must satisfy; an addition must also be a whole correction, note or reading."""
    if event.kind != "after-signature addition":
        return DATA[event.kind]
    AfterSignatureAddition.model_validate(event.data)
    inner: dict[str, type[Data]] = {
        "correction": Correction,
        "note": Note,
        "reading": ReadingTaken,
    }
    return inner[event.data["adds"]]


def at_utc(event: Event) -> dt.datetime:
    """The tablet's time of the tap, corrected by the offset it last knew."""
    at = dt.datetime.fromisoformat(event.at)
    try:
        return at + dt.timedelta(milliseconds=event.clock_offset or 0.0)
    except OverflowError:
        return at


def value_mm(value: str, unit: str) -> float:
    """A reading in millimetres; `value` is the decimal string as entered."""
    try:
        number = Decimal(value)
    except InvalidOperation:
        raise EventError(f"'{value}' is not a number.", field="value") from None
    return float(number * (Decimal("25.4") if unit == "in" else 1))


def _first(problem: ValidationError) -> str:
    error = problem.errors()[0]
    place = ".".join(str(part) for part in error["loc"]) or "event"
    return f"{place}: {error['msg']}."


def _no_constant(name: str) -> float:
    raise ValueError(f"{name} is not a number")


def _no_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a field stands twice in one object")
    return found


def _refuse_depth(text: str) -> None:
    if text.count("[") + text.count("{") <= MAX_DEPTH:
        return
    depth = deepest = 0
    in_string = escaped = False
    for char in text:
        if in_string:
            if escaped:
                escaped = False
            elif char == "\\":
                escaped = True
            elif char == '"':
                in_string = False
        elif char == '"':
            in_string = True
        elif char in "[{":
            depth += 1
            deepest = max(deepest, depth)
        elif char in "]}":
            depth -= 1
    if deepest > MAX_DEPTH:
        raise EventError(f"The event is nested {deepest} deep; at most {MAX_DEPTH} are taken.")
