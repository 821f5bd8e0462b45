"""Physical plates and the state each is in."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, StringConstraints

PlateSerial = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9-]{0,31}$")]
PlateState = Literal["free", "being loaded", "ready", "in machine", "held"]
SetupPhase = Literal["working", "signed", "in machine", "finished", "rejected", "abandoned"]


class Plate(BaseModel):
    """One plate built to a design; `held` carries the reason while a lead holds it."""

    model_config = ConfigDict(frozen=True)

    serial: PlateSerial
    design: str
    held: str | None = None
    note: str = ""


def plate_state(held: str | None, last_phase: SetupPhase | None) -> PlateState:
    """The state a plate is in, from a lead's hold and the phase of its newest setup."""
    if held is not None:
        return "held"
    match last_phase:
        case "working":
            return "being loaded"
        case "signed":
            return "ready"
        case "in machine":
            return "in machine"
        case "rejected":
            return "held"
        case _:
            return "free"
