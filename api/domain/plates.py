"""Physical plates and the state each is in."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, StringConstraints

PlateSerial = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9-]{0,31}$")]
PlateState = Literal["free", "being loaded", "ready", "in machine", "held"]
SetupPhase = Literal["working", "signed", "in machine", "finished", "rejected", "abandoned"]


class Plate(BaseModel):
    """One plate built to a design; `held` carries the reason while a lead holds it.

    `cleared` names the rejected setup after which a lead has freed the plate again.
    """

    model_config = ConfigDict(frozen=True)

    serial: PlateSerial
    design: str
    held: str | None = None
    cleared: str | None = None
    note: str = ""


def plate_state(
    held: str | None, last_phase: SetupPhase | None, *, cleared: bool = False
) -> PlateState:
    """The state a plate is in, from a lead's hold and the phase of its newest setup.

    A rejected setup holds its plate until a lead has `cleared` it.
    """
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
            return "free" if cleared else "held"
        case _:
            return "free"
