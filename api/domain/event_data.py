"""What each kind of event says: the models its `data` is checked against."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from api.domain.plates import PlateSerial
from api.domain.stores import Key, LengthUnit, TorqueUnit

Hash = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]
Uuid = Annotated[
    str,
    StringConstraints(pattern=r"^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$"),
]
StepId = Annotated[str, StringConstraints(min_length=1, max_length=120)]
Text = Annotated[str, StringConstraints(max_length=2000)]
Reason = Annotated[str, StringConstraints(strip_whitespace=True, min_length=3, max_length=500)]
Number = Annotated[str, StringConstraints(pattern=r"^[+-]?\d{1,6}(\.\d{1,6})?$")]
Source = Literal["typed", "dial", "wedge", "paper"]


class Data(BaseModel):
    """What an event says; fields a later build adds are kept, not refused."""

    model_config = ConfigDict(frozen=True, extra="allow")


class Facts(Data):
    grease_due: bool
    baseline_due: bool
    second_touch: list[Key] = []


class Frozen(Data):
    """Stores' items as they were when the setup was opened."""

    tool: dict[str, Any]
    indicator: dict[str, Any]
    greases: list[dict[str, Any]] = []
    specs: list[dict[str, Any]] = []


class SetupOpened(Data):
    plate: PlateSerial
    design: Key
    revision: Key
    revision_hash: Hash
    facts: Facts
    frozen: Frozen


class StepDone(Data):
    source: Source | None = None


class Setting(Data):
    value: Number
    unit: TorqueUnit


class ClampTightened(Data):
    clamp: Key
    pass_: Annotated[int | None, Field(alias="pass", ge=1, le=99)] = None
    set: Setting
    tool: Key
    after: Literal["clicked", "slipped", "read"]


class ClampMoved(Data):
    clamp: Key
    tool: Key
    set: Setting


class ReadingTaken(Data):
    point: Key
    state: Annotated[str, StringConstraints(max_length=40)]
    value: Number
    unit: LengthUnit
    raw: Annotated[str, StringConstraints(max_length=40)]
    source: Source
    indicator: Key
    entry: Literal[1, 2]
    reason: Text | None = None


class Correction(Data):
    refers: Uuid
    reason: Reason
    undo: bool = False
    value: Number | None = None
    unit: LengthUnit | None = None


class Note(Data):
    text: Annotated[str, StringConstraints(min_length=1, max_length=2000)]
    closes: Uuid | None = None


class Trouble(Data):
    what: Literal[
        "would not turn", "no grip", "thread", "part not down", "gap", "will not zero", "other"
    ]
    text: Text = ""
    clamp: Key | None = None


class Paused(Data):
    reason: Literal["left", "tablet restarted", "break"]


class TakenOver(Data):
    from_: Annotated[str | None, Field(alias="from")] = None
    from_tablet: Annotated[str | None, StringConstraints(max_length=64)] = None


class Judged(Data):
    judgement: Literal["accept", "rework", "reject"]
    reason: Reason


class Covers(Data):
    events: Annotated[list[Uuid], Field(min_length=1, max_length=2000)]
    hash: Hash


class Signed(Data):
    meaning: Literal["tightened by", "checked by", "accepted by"]
    covers: Covers
    sealed: Annotated[str, StringConstraints(min_length=1, max_length=1000)]
    key: Annotated[str, StringConstraints(min_length=1, max_length=64)]


class Abandoned(Data):
    reason: Reason


class ConflictResolved(Data):
    step: StepId
    keep: Uuid
    reason: Reason


class AfterSignatureAddition(Data):
    adds: Literal["correction", "note", "reading"]
    refers: Uuid | None = None
    reason: Reason | None = None


Kind = Literal[
    "setup opened",
    "step done",
    "clamp tightened",
    "clamp moved on re-check",
    "reading taken",
    "correction",
    "note",
    "trouble",
    "paused",
    "taken over",
    "judged",
    "signed",
    "countersigned",
    "abandoned",
    "conflict resolved",
    "after-signature addition",
]

DATA: dict[str, type[Data]] = {
    "setup opened": SetupOpened,
    "step done": StepDone,
    "clamp tightened": ClampTightened,
    "clamp moved on re-check": ClampMoved,
    "reading taken": ReadingTaken,
    "correction": Correction,
    "note": Note,
    "trouble": Trouble,
    "paused": Paused,
    "taken over": TakenOver,
    "judged": Judged,
    "signed": Signed,
    "countersigned": Signed,
    "abandoned": Abandoned,
    "conflict resolved": ConflictResolved,
    "after-signature addition": AfterSignatureAddition,
}
NEEDS_STEP = frozenset({"step done", "clamp tightened", "clamp moved on re-check", "reading taken"})
