"""The file that a tablet's recovery page saves, as a lead hands it in: its shape, and nothing more.

It has the shape of a push. Whether its records are a tablet's own is decided record by record.
"""

from __future__ import annotations

import json
from typing import Annotated, Self

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    StringConstraints,
    ValidationError,
    model_validator,
)

from api.domain.errors import BadInput
from api.domain.event_data import Hash

MOST_RECORDS = 20_000
FIELD = "upload"
NOT_ONE = "This is not a file of the bench's recovery page"
Signature = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9+/=]{1,200}$")]
TabletName = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9-]{0,63}$")]


class SeenInFile(BaseModel):
    """The last checkpoint that the tablet knew."""

    model_config = ConfigDict(strict=True)

    seq: Annotated[int, Field(ge=0, lt=2**53)]
    chain: Hash
    epoch: Annotated[str, StringConstraints(max_length=64)] | None = None


class HandedFile(BaseModel):
    """Event texts, perhaps of several names of one tablet, each with its signature or none.

    Fields that a later build adds are passed over.
    """

    model_config = ConfigDict(strict=True)

    tablet: TabletName
    events: list[str]
    sigs: list[Signature | None]
    seen: SeenInFile | None = None

    @model_validator(mode="after")
    def _one_each(self) -> Self:
        if len(self.sigs) != len(self.events):
            raise ValueError("sigs must hold one entry for each of events")
        return self

    @property
    def tablets(self) -> set[str]:
        """Every name that the file or one of its records gives."""
        return {self.tablet, *(name for text in self.events if (name := _named_in(text)))}


def read_handed_file(content: bytes) -> HandedFile:
    """The file's content; raises `BadInput` that says what it is not."""
    try:
        raw = json.loads(content.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise _refused(f"{NOT_ONE}: it is not text in UTF-8.") from None
    except (ValueError, RecursionError):
        whole = "The file may be cut off; save it anew at the tablet."
        raise _refused(f"{NOT_ONE}: it is not JSON. {whole}") from None
    if not isinstance(raw, dict):
        raise _refused(f"{NOT_ONE}: it must be one JSON object with tablet, events and sigs.")
    try:
        found = HandedFile.model_validate(raw)
    except ValidationError as problem:
        raise _refused(f"{NOT_ONE}: {_first(problem)}.") from None
    if not found.events:
        raise _refused("The file holds no records, so there is nothing to hand in.")
    if len(found.events) > MOST_RECORDS:
        raise _refused(
            f"The file holds {len(found.events)} records; at most {MOST_RECORDS} may be."
        )
    return found


def _named_in(text: str) -> str:
    try:
        raw = json.loads(text)
    except (ValueError, RecursionError):
        return ""
    name = raw.get("tablet") if isinstance(raw, dict) else None
    return name if isinstance(name, str) else ""


def _first(problem: ValidationError) -> str:
    error = problem.errors()[0]
    place = ".".join(str(part) for part in error["loc"])
    if error["type"] == "missing":
        return f"'{place}' is missing"
    told = error["msg"].removeprefix("Value error, ")
    if error["type"] == "string_pattern_mismatch":
        told = "this is not written as it should be"
    return f"'{place}': {told[:1].lower()}{told[1:]}" if place else told


def _refused(message: str) -> BadInput:
    return BadInput(message, field=FIELD)
