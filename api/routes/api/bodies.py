"""What tablets send to the JSON API, field by field."""

from __future__ import annotations

from typing import Annotated, Any, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

TabletName = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9-]{0,63}$")]
Build = Annotated[str, Field(max_length=64, pattern=r"^[^\x00]*$")]
Signed = Annotated[str, Field(max_length=120, description="Raw r and s, 64 bytes, base64")]


class Seen(BaseModel):
    """The last checkpoint that the tablet knows."""

    model_config = ConfigDict(extra="forbid")

    seq: int = Field(ge=0, lt=2**53)
    chain: str = Field(pattern=r"^[0-9a-f]{64}$")
    epoch: str | None = Field(default=None, max_length=64)


class PushBody(BaseModel):
    model_config = ConfigDict(extra="forbid")

    tablet: TabletName
    build: Build
    events: list[Any] = Field(
        max_length=200, description="Event texts; what is no event is set aside, not refused"
    )
    sigs: list[Signed | None] = Field(
        max_length=200, description="Of each text, by the key of the tablet that it names"
    )
    seen: Seen | None = None

    @model_validator(mode="after")
    def _one_each(self) -> Self:
        if len(self.sigs) != len(self.events):
            raise ValueError("sigs holds one entry for each of events")
        return self


class EnrolBody(BaseModel):
    model_config = ConfigDict(extra="forbid")

    code: str = Field(max_length=20, examples=["7KQ2M-94XTB"])
    tablet: TabletName
    key: str = Field(max_length=100, description="Uncompressed P-256 point, base64")
    proof: Signed
    build: Build


class ChallengeBody(BaseModel):
    model_config = ConfigDict(extra="forbid")

    tablet: TabletName


class SessionBody(BaseModel):
    model_config = ConfigDict(extra="forbid")

    tablet: TabletName
    nonce: str = Field(max_length=200)
    proof: Signed
