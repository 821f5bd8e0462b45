"""What the stores keep: torque tools, indicators, greases, clamp specs and materials."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, model_validator

Key = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$")]
Title = Annotated[str, StringConstraints(min_length=1, max_length=120)]
Positive = Annotated[float, Field(gt=0, lt=1e6, allow_inf_nan=False)]
TorqueUnit = Literal["N*m", "lbf*in", "lbf*ft"]
LengthUnit = Literal["mm", "in"]
ItemState = Literal["in use", "withdrawn"]


class Item(BaseModel):
    """Common behaviour of everything in the stores."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Adapter(Item):
    """An offset adapter in line with the wrench; both lengths to the drive's axis."""

    length_mm: Positive
    wrench_length_mm: Positive


class TorqueTool(Item):
    """A wrench or driver that sets torque; range and graduation in its own unit."""

    serial: Key
    title: Title
    kind: Literal["click", "slip", "reading"]
    unit: TorqueUnit
    low: Positive
    high: Positive
    graduation: Positive
    calibrated: dt.date
    due: dt.date
    pulls_limit: Annotated[int, Field(ge=1, le=1_000_000)] = 5000
    pulls_before: Annotated[int, Field(ge=0, le=10_000_000)] = 0
    adapter: Adapter | None = None
    state: ItemState = "in use"
    note: Annotated[str, StringConstraints(max_length=500)] = ""

    @model_validator(mode="after")
    def _range_is_a_range(self) -> Self:
        if self.low >= self.high:
            raise ValueError("the low end of the range must be below the high end")
        if self.graduation > self.high - self.low:
            raise ValueError("the graduation is wider than the range")
        if self.due < self.calibrated:
            raise ValueError("the due date lies before the calibration date")
        return self


class Indicator(Item):
    """A dial or lever indicator; all lengths in its own unit."""

    serial: Key
    title: Title
    kind: Literal["dial", "lever"]
    unit: LengthUnit
    graduation: Positive
    per_turn: Positive
    travel: Positive
    plus: Literal["up", "down"] = "up"
    stylus_deg: Annotated[float, Field(ge=0, lt=90)] = 0.0
    due: dt.date
    state: ItemState = "in use"
    note: Annotated[str, StringConstraints(max_length=500)] = ""

    @model_validator(mode="after")
    def _turns_fit(self) -> Self:
        if not self.graduation < self.per_turn <= self.travel:
            raise ValueError(
                "the graduation must be finer than one turn, and one turn not more than the travel"
            )
        return self


class Friction(Item):
    """Coefficient of friction as low, usual and high value."""

    low: Annotated[float, Field(gt=0, le=1)]
    usual: Annotated[float, Field(gt=0, le=1)]
    high: Annotated[float, Field(gt=0, le=1)]

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if not self.low <= self.usual <= self.high:
            raise ValueError("friction must run low, usual, high")
        return self


class Grease(Item):
    """A lubricant with the friction it leaves in thread, head and cone."""

    id: Key
    title: Title
    friction: Friction
    source: Annotated[str, StringConstraints(min_length=3, max_length=300)]
    state: ItemState = "in use"


class Material(Item):
    """Typical values at room temperature; cutting constants where parts are cut from it."""

    id: Key
    title: Title
    e_gpa: Positive
    nu: Annotated[float, Field(gt=0, lt=0.5)]
    density_kg_m3: Positive
    yield_mpa: Positive
    kc11_mpa: Positive | None = None
    mc: Annotated[float, Field(gt=0, lt=1)] | None = None
    source: Annotated[str, StringConstraints(min_length=3, max_length=300)]
    state: ItemState = "in use"


class StoredSpec(Item):
    """A clamp spec of the stores: the `[[spec]]` table of a design file, kept as written."""

    id: Key
    title: Title
    document: dict[str, Any]
    source: Annotated[str, StringConstraints(min_length=3, max_length=300)]
    state: ItemState = "in use"


ItemKind = Literal["tool", "indicator", "grease", "spec", "material"]
AnyItem = TorqueTool | Indicator | Grease | StoredSpec | Material

MODELS: dict[ItemKind, type[AnyItem]] = {
    "tool": TorqueTool,
    "indicator": Indicator,
    "grease": Grease,
    "spec": StoredSpec,
    "material": Material,
}


def key_of(item: AnyItem) -> str:
    return item.serial if isinstance(item, TorqueTool | Indicator) else item.id


class Stores(BaseModel):
    """Everything the stores hold now, by key; what a checker or a sheet may look at."""

    model_config = ConfigDict(frozen=True)

    tools: dict[str, TorqueTool] = {}
    indicators: dict[str, Indicator] = {}
    greases: dict[str, Grease] = {}
    specs: dict[str, StoredSpec] = {}
    materials: dict[str, Material] = {}
