"""What the server keeps: revisions, item versions, events with their place, and projections.

Plain values, made by the storage layer and handed on by the use cases as they are.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any, Generic, Literal, TypeVar

from api.domain.plates import SetupPhase

RevisionState = Literal["draft", "released", "withdrawn"]
CredentialKind = Literal["pin", "password"]
Verdict = Literal["confirmed", "refused", "provisional"]
Outcome = Literal["stored", "already", "set aside"]
JournalKind = Literal[
    "verdict",
    "tablet enrolled",
    "tablet revoked",
    "tablet forked",
    "tablet saw another chain",
    "sealing key",
    "checkpoint",
    "restored",
    "set aside",
    "dealt with",
    "handed in",
    "person",
    "secret",
]
Judgement = Literal["accept", "rework", "reject"]
ComputationState = Literal["queued", "running", "done", "failed"]
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Revision:
    """A design at one revision; `document` is its JSON form, `source` the file as it came."""

    code: str
    revision: str
    title: str
    state: RevisionState
    document: dict[str, Any]
    source: str
    hash: str
    loaded_by: str
    loaded_at: dt.datetime
    sheet: dict[str, Any] | None = None
    released_by: str | None = None
    released_at: dt.datetime | None = None
    withdrawn_by: str | None = None
    withdrawn_at: dt.datetime | None = None


@dataclass(frozen=True, slots=True)
class Computation:
    """An analysis of a revision, asked for under the hash of all that goes into it.

    `at` is its last sign of life; `result` is the analysis as JSON once done, `failure` one
    sentence that says why there will be none.
    """

    inputs: str
    method: str
    design: str
    revision: str
    asked_at: dt.datetime
    at: dt.datetime
    state: ComputationState = "queued"
    progress: float = 0.0
    doing: str = ""
    failure: str | None = None
    result: dict[str, Any] | None = None


@dataclass(frozen=True, slots=True)
class Hold:
    """One time a lead held a plate, and who freed it."""

    plate: str
    reason: str
    by: str
    at: dt.datetime
    freed_by: str | None = None
    freed_at: dt.datetime | None = None


@dataclass(frozen=True, slots=True)
class ItemVersion:
    """One version of an item of the stores; the latest is what holds now."""

    kind: str
    key: str
    n: int
    body: dict[str, Any]
    at: dt.datetime
    by: str


@dataclass(frozen=True, slots=True)
class Credential:
    """The argon2id hash of a PIN or password and the tries against it."""

    badge: str
    kind: CredentialKind
    hash: str
    tries: int = 0
    locked_until: dt.datetime | None = None


@dataclass(frozen=True, slots=True)
class OfficeSession:
    """A signed-in browser; only the digest of its token is kept."""

    digest: str
    badge: str
    opened_at: dt.datetime
    expires_at: dt.datetime
    seen_at: dt.datetime | None = None


@dataclass(frozen=True, slots=True)
class StoredEvent:
    """An event as received, with its place in the server's order and chain."""

    seq: int
    id: str
    tablet: str
    n: int
    setup: str
    kind: str
    step: str | None
    person: str | None
    at: dt.datetime
    received_at: dt.datetime
    text: str
    hash: str
    chain: str
    flags: tuple[str, ...]
    sig: str | None = None
    form: int = 2


@dataclass(frozen=True, slots=True)
class JournalEntry:
    """Something the server itself wrote down; `body` is canonical JSON, `hash` is of its bytes."""

    seq: int
    kind: JournalKind
    subject: str
    body: str
    hash: str
    at: dt.datetime
    by: str | None
    chain: str


@dataclass(frozen=True, slots=True)
class StoredSignature:
    """What the server thinks of one signature; `seq` grows whenever the verdict changes.

    `sealed` is the SHA-256 of the sealed PIN, which is good for one signature.
    """

    event: str
    setup: str
    person: str
    meaning: str
    verdict: Verdict
    reason: str | None
    seq: int
    retry_at: dt.datetime | None = None
    sealed: str = ""


@dataclass(frozen=True, slots=True)
class SetAside:
    """Something received that could not be taken as an event, kept whole.

    `escaped` says that `text` is a JSON string literal, because the original holds
    characters no database column takes.
    """

    id: int
    hash: str
    text: str
    escaped: bool
    reason: str
    tablet: str
    received_at: dt.datetime
    sig: str | None = None


@dataclass(frozen=True, slots=True)
class Tablet:
    """A tablet that was enrolled or has sent something.

    `contiguous` is its highest gap-free event number; `key` its public key (an uncompressed
    P-256 point, base64), without which nothing it sends is taken.
    """

    id: str
    first_seen: dt.datetime
    last_seen: dt.datetime
    build: str
    contiguous: int
    highest: int
    name: str = ""
    key: str | None = None
    enrolled_at: dt.datetime | None = None
    enrolled_by: str | None = None
    revoked_at: dt.datetime | None = None
    revoked_by: str | None = None
    forked_at: dt.datetime | None = None


@dataclass(frozen=True, slots=True)
class EnrolCode:
    """A code that lets a tablet in; only its digest is kept, and it ends soon."""

    digest: str
    name: str
    made_by: str
    made_at: dt.datetime
    expires_at: dt.datetime
    uses_left: int = 1


@dataclass(frozen=True, slots=True)
class TabletSession:
    """A tablet that has proved its key; only the digest of its token is kept."""

    digest: str
    tablet: str
    opened_at: dt.datetime
    expires_at: dt.datetime


@dataclass(frozen=True, slots=True)
class SetupSummary:
    """A setup in one row, as lists and plate states need it; a projection of its events."""

    id: str
    plate: str
    design: str
    revision: str
    phase: SetupPhase
    opened_at: dt.datetime
    opened_by: str | None
    last_at: dt.datetime
    last_seq: int
    events: int
    tablet: str
    person: str | None
    step: str | None
    tool: str | None
    indicator: str | None
    judgement: Judgement | None
    signed_by: str | None
    signature: Verdict | None
    greased: bool
    baseline: bool
    movers: int
    troubles: tuple[dict[str, Any], ...] = ()
    flags: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PointReading:
    """One indicator reading; `final` marks the one that counts for its point and state."""

    event: str
    setup: str
    plate: str
    point: str
    state: str
    value_mm: float
    value: str
    unit: str
    source: str
    indicator: str
    person: str | None
    at: dt.datetime
    seq: int
    entry: int
    final: bool


@dataclass(frozen=True, slots=True)
class SetupFilter:
    """What a search of the logbook asks for; empty fields ask for nothing."""

    plate: str | None = None
    design: str | None = None
    person: str | None = None
    tool: str | None = None
    judgement: str | None = None
    phase: str | None = None
    since: dt.date | None = None
    until: dt.date | None = None


@dataclass(frozen=True, slots=True)
class Page(Generic[T]):
    """One page of a longer list."""

    items: list[T]
    page: int
    per_page: int
    total: int

    @property
    def pages(self) -> int:
        return max(1, -(-self.total // self.per_page))


@dataclass(frozen=True, slots=True)
class ShopMeta:
    """Who this server is: its name, its epoch (new after a restore) and its version counter."""

    name: str
    epoch: str
    version: int
    watermark: int | None = None
