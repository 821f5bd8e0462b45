"""The design file as models. Attribute names are plural where the file has `[[tables]]`.

Quantities are SI inside `Quantity`; the `_mm`, `_nm` and `_deg` properties are for drawing,
steps and messages. `Design.document` is the plain TOML document, kept for the round trip and
for the hash.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, PrivateAttr, model_validator

from api.domain.designs.form import fields as f
from api.domain.designs.form.friction import FrictionField
from api.domain.units import Quantity

State = Literal["empty locked", "snug free", "snug locked", "torqued free", "torqued locked"]
STATES: tuple[State, ...] = (
    "empty locked",
    "snug free",
    "snug locked",
    "torqued free",
    "torqued locked",
)
MOST_ITEMS = 200


class Table(BaseModel):
    """A table of the file: fields it does not know are refused, values never change."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class At(Table):
    at: tuple[f.Coordinate, f.Coordinate]

    @property
    def x_mm(self) -> float:
        return self.at[0].mm

    @property
    def y_mm(self) -> float:
        return self.at[1].mm


class PartTolerance(Table):
    thickness: f.Tolerance | None = None
    parallelism: f.Tolerance | None = None
    flatness: f.Tolerance | None = None


class Part(Table):
    number: f.Label
    material: f.Id
    size: tuple[f.Size, f.Size, f.Size]
    tolerance: PartTolerance = PartTolerance()
    later_stock: f.Stock = Quantity("0 mm", 0.0, "length")


class Pocket(Table):
    corner: tuple[f.Coordinate, f.Coordinate]
    size: tuple[f.Size, f.Size]
    depth: f.Depth


class PlateTable(Table):
    size: tuple[f.PlateLength, f.PlateLength, f.PlateThickness]
    material: f.Id
    pockets: Annotated[list[Pocket], Field(alias="pocket", max_length=MOST_ITEMS)] = []

    @property
    def length_mm(self) -> float:
        return self.size[0].mm

    @property
    def width_mm(self) -> float:
        return self.size[1].mm

    @property
    def thickness_mm(self) -> float:
        return self.size[2].mm


class Pad(Table):
    diameter: f.SmallSize
    bore: f.SmallSize

    @model_validator(mode="after")
    def _ring(self) -> Self:
        if self.bore.value >= self.diameter.value:
            raise f.refusal(
                "pad",
                f"the pad's bore {self.bore.text} is not smaller than its diameter {self.diameter.text}",
                "give the pad a bore smaller than its diameter",
            )
        return self


class Receivers(Table):
    """What the plate is pulled down onto; `numbered` gives each its id, "1" first."""

    rest: Literal["pads", "flat"]
    pull: f.Force
    pad: Pad
    at: Annotated[list[tuple[f.Coordinate, f.Coordinate]], Field(min_length=1, max_length=64)]

    @property
    def numbered(self) -> list[tuple[str, float, float]]:
        return [(str(n), x.mm, y.mm) for n, (x, y) in enumerate(self.at, start=1)]


class Stop(Table):
    """A fixed face; `material` defaults to the plate's, `joint` says how it is one with the plate."""

    id: f.Id
    corner: tuple[f.Coordinate, f.Coordinate]
    size: tuple[f.Size, f.Size, f.Height]
    undercut: f.Undercut = Quantity("0 deg", 0.0, "angle")
    face: Literal["smooth", "fine", "coarse"] = "smooth"
    material: f.Id | None = None
    joint: Literal["bolted", "one piece"] = "bolted"

    @property
    def x_mm(self) -> float:
        """Centre, along the plate."""
        return self.corner[0].mm + self.size[0].mm / 2

    @property
    def y_mm(self) -> float:
        """Centre, across the plate."""
        return self.corner[1].mm + self.size[1].mm / 2


class Rated(Table):
    torque: f.Torque
    force: f.Force | None = None


class Spec(Table):
    """A clamp spec; what each kind must have is checked in `missing_of`."""

    id: f.Id
    kind: Literal["cone", "wedge", "twin", "measured"]
    title: f.Label | None = None
    thread: f.Label | None = None
    strength: Literal["8.8", "10.9", "12.9", "A574"] | None = None
    half_angle: f.WedgeAngle | None = None
    contact_radius: f.SmallSize | None = None
    engagement: f.SmallSize | None = None
    lubricant: f.Id | None = None
    friction: FrictionField | None = None
    stiffness: f.Stiffness | None = None
    rated: Rated | None = None
    force: Annotated[list[tuple[f.Torque, f.Force]], Field(min_length=2, max_length=50)] | None = (
        None
    )
    scatter: f.Scatter | None = None


class Clamp(At):
    id: f.Id
    spec: f.Id
    axis_deg: Annotated[f.Direction, Field(alias="axis")]
    torque: f.Torque
    finish_torque: f.Torque | None = None

    @property
    def torque_nm(self) -> float:
        return self.torque.value

    @property
    def finish_torque_nm(self) -> float | None:
        return None if self.finish_torque is None else self.finish_torque.value


class Station(At):
    """One place for one part; a round part's axis follows from which two sizes are equal."""

    id: f.Id
    between: tuple[f.Id, f.Id]
    contact_height: f.Height
    shape: Literal["block", "round"] = "block"


class Point(At):
    id: f.Id
    zero: State
    read: State
    limit: f.LimitsField

    @property
    def low_mm(self) -> float:
        return self.limit.low.mm

    @property
    def high_mm(self) -> float:
        return self.limit.high.mm


class Cut(Table):
    name: f.Label
    kind: Literal["face", "side", "slot", "drill"]
    diameter: f.SmallSize
    teeth: Annotated[int, Field(strict=True, ge=1, le=60)]
    depth: f.Depth
    width: f.SmallSize
    feed_per_tooth: f.Chip
    speed: f.CutSpeed
    lead: f.Lead = Quantity("90 deg", 1.5707963267948966, "angle")
    worn: Annotated[float, Field(strict=True, ge=1, le=3, allow_inf_nan=False)] = 1.3
    source: f.Label | None = None
    height: f.Height
    minutes: f.Minutes


class Tightening(Table):
    """`order` is nothing for "auto"."""

    passes: Annotated[list[f.Share], Field(min_length=1, max_length=9)] = [0.3, 0.7, 1.0]
    order: f.Order = None
    plate: Literal["free", "locked"] = "free"
    recheck: Annotated[bool, Field(strict=True)] = True


class Care(Table):
    grease_every: Annotated[int, Field(strict=True, ge=1, le=10_000)] = 20
    force_check_every: Annotated[int, Field(strict=True, ge=1, le=1_000_000)] = 2000
    baseline_every: Annotated[int, Field(strict=True, ge=1, le=10_000)] = 50


class SignOff(Table):
    """With `countersign`, a plate is ready only when a second person has signed too."""

    countersign: Annotated[bool, Field(strict=True)] = False


class Times(Table):
    load: f.Seconds
    tool_changes: Annotated[int, Field(strict=True, ge=0, le=200)]
    tool_change: f.Seconds
    plate_change: f.Seconds


class Design(Table):
    """One revision of a design, as its file says."""

    format: Literal["clampbook-design/1"]
    code: f.Code
    revision: f.Revision
    title: f.Label
    part: Part
    plate: PlateTable
    receivers: Receivers
    stops: Annotated[list[Stop], Field(alias="stop", max_length=MOST_ITEMS)] = []
    specs: Annotated[list[Spec], Field(alias="spec", max_length=MOST_ITEMS)] = []
    clamps: Annotated[list[Clamp], Field(alias="clamp", min_length=1, max_length=MOST_ITEMS)]
    stations: Annotated[list[Station], Field(alias="station", min_length=1, max_length=MOST_ITEMS)]
    points: Annotated[list[Point], Field(alias="point", max_length=MOST_ITEMS)] = []
    cuts: Annotated[list[Cut], Field(alias="cut", max_length=MOST_ITEMS)] = []
    tightening: Tightening = Tightening()
    care: Care = Care()
    sign_off: SignOff = SignOff()
    time: Times | None = None

    _document: dict[str, Any] = PrivateAttr(default_factory=dict)

    @property
    def document(self) -> dict[str, Any]:
        """The TOML document as plain values; do not change it."""
        return self._document

    @classmethod
    def from_document(cls, document: dict[str, Any]) -> Design:
        """The design in a stored document; raises pydantic's ValidationError."""
        design = cls.model_validate(document)
        design._document = document
        return design
