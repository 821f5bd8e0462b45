"""The answers of the JSON API, field by field."""

from __future__ import annotations

import datetime as dt
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from api.domain.people import Role
from api.domain.plates import PlateState, SetupPhase
from api.domain.records import Judgement, Outcome, RevisionState, Verdict
from api.use_cases.tablets import TabletState


class Answer(BaseModel):
    model_config = ConfigDict(from_attributes=True)


class Problem(BaseModel):
    """What went wrong, after RFC 9457; some problems carry more fields that say where."""

    model_config = ConfigDict(extra="allow")

    type: str = Field(examples=["urn:clampbook:not-found"])
    title: str
    status: int
    detail: str
    code: str = Field(description="Stable word for this problem")


class Health(Answer):
    status: Literal["ok"] = "ok"
    database: str
    epoch: str
    head: int
    time: dt.datetime
    watermark: int | None
    free_bytes: int
    backed_up_at: dt.datetime | None
    backups_fail: bool


class RevisionEntry(Answer):
    revision: str
    state: RevisionState
    title: str
    hash: str
    loaded_by: str
    loaded_at: dt.datetime
    released_by: str | None
    released_at: dt.datetime | None
    withdrawn_by: str | None
    withdrawn_at: dt.datetime | None


class DesignEntry(Answer):
    code: str
    title: str
    newest: str | None = Field(description="The revision released last")
    plates: list[str]
    revisions: list[RevisionEntry]


class Designs(Answer):
    designs: list[DesignEntry]


class FullRevision(RevisionEntry):
    code: str
    document: dict[str, Any] = Field(description="The design file in its JSON form")
    sheet: dict[str, Any] | None = Field(description="What tablets work to; none for a draft")


class OpenSetup(Answer):
    id: str
    badge: str | None
    tablet: str
    step: str | None
    at: dt.datetime


class Usual(Answer):
    median_mm: float
    n: int


class OpenTrouble(Answer):
    event: str
    setup: str
    what: str
    clamp: str | None
    step: str | None


class Plate(Answer):
    serial: str
    design: str
    revision: str | None = Field(description="The revision a new setup is worked to")
    state: PlateState
    since: dt.datetime | None
    reason: str | None
    open_setup: OpenSetup | None
    setups_since_grease: int
    setups_since_baseline: int
    usual: dict[str, Usual] = Field(description="Median final reading by point/state")
    open_troubles: list[OpenTrouble]
    last_setup: str | None
    note: str


class Plates(Answer):
    plates: list[Plate]


class SetupEntry(Answer):
    id: str
    plate: str
    design: str
    revision: str
    phase: SetupPhase
    opened_at: dt.datetime
    opened_by: str | None
    last_at: dt.datetime
    events: int
    step: str | None
    tool: str | None
    indicator: str | None
    judgement: Judgement | None
    signed_by: str | None
    signature: Verdict | None
    movers: int
    flags: list[str]


class History(Answer):
    plate: str
    page: int
    pages: int
    total: int
    setups: list[SetupEntry]


class EventEntry(Answer):
    seq: int
    received_at: dt.datetime
    hash: str
    chain: str
    flags: list[str]
    event: dict[str, Any] = Field(description="The event as it was sent")


class SignatureEntry(Answer):
    event: str
    person: str
    meaning: str
    verdict: Verdict
    reason: str | None


class Setup(Answer):
    id: str
    summary: SetupEntry | None = Field(description="None until its opening record has arrived")
    state: dict[str, Any] = Field(description="The folded state: steps, readings, troubles")
    events: list[EventEntry]
    signatures: list[SignatureEntry]


class Enrolled(Answer):
    tablet: str
    name: str
    epoch: str


class Challenge(BaseModel):
    nonce: str = Field(description="To be signed within a minute")


class PushResult(Answer):
    index: int
    id: str | None
    outcome: Outcome
    seq: int | None
    flags: list[str]
    message: str | None


class Checkpoint(BaseModel):
    """What the server signed last; `signature` is of all the other fields as canonical JSON."""

    seq: int
    count: int
    head: str
    epoch: str
    at: str
    why: str
    key: str
    signature: str


class PushAnswer(Answer):
    epoch: str
    watermark: int | None = Field(description="Records up to here are in a checked backup")
    contiguous: int = Field(description="The tablet's highest number without a gap")
    head: int
    time: dt.datetime
    results: list[PushResult]
    checkpoint: Checkpoint | None
    tablet: TabletState


class PulledEvent(Answer):
    seq: int
    text: str
    flags: list[str]


class PulledSignature(Answer):
    event: str
    verdict: Verdict
    reason: str | None


class PullAnswer(Answer):
    epoch: str
    head: int
    more: bool
    time: dt.datetime
    events: list[PulledEvent]
    signatures: list[PulledSignature]


class Badge(Answer):
    badge: str
    role: Role
    active: bool


class Key(Answer):
    id: str
    public: str = Field(description="Uncompressed P-256 point, base64")


class Shop(Answer):
    version: str
    shop: str
    epoch: str
    time: dt.datetime
    start: int = Field(description="A tablet new to the shop pulls what comes after this")
    sheets: list[dict[str, Any]]
    plates: list[Plate]
    tools: list[dict[str, Any]]
    indicators: list[dict[str, Any]]
    greases: list[dict[str, Any]]
    specs: list[dict[str, Any]]
    people: list[Badge]
    key: Key
    pace: dict[str, float] = Field(description="Usual seconds by kind of step")
