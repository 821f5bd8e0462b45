"""Field types of the design file: quantities with their limits, limits of a reading, friction."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import (
    BeforeValidator,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    StringConstraints,
    WithJsonSchema,
)
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from api.domain.indicator_choice import limit_width_mm
from api.domain.units import (
    Quantity,
    QuantityError,
    check_size,
    parse,
    parse_agreeing,
)
from api.domain.units.tables import EXAMPLES, Dimension

QUANTITY_PATTERN = r"^\s*[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]+)?\s*[^0-9\s].*$"


def refusal(code: str, message: str, fix: str) -> PydanticCustomError:
    """An error of a field that keeps its own code and its fix through pydantic."""
    return PydanticCustomError(
        "clampbook", "{message}", {"code": code, "message": message, "fix": fix}
    )


@dataclass(frozen=True)
class Rule:
    """A quantity of one dimension between `low` and `high` (as written, ends allowed).

    With `above_zero` zero itself is refused. `low` and `high` are texts with units.
    """

    dimension: Dimension
    low: str
    high: str
    above_zero: bool = False

    def __call__(self, value: object) -> Quantity:
        try:
            quantity = (
                parse_agreeing(value, self.dimension)
                if isinstance(value, list)
                else parse(value, self.dimension)
            )
            check_size(quantity)
        except QuantityError as error:
            raise refusal(error.code, error.message, error.fix) from None
        self._refuse_outside(quantity)
        return quantity

    def _refuse_outside(self, quantity: Quantity) -> None:
        low, high = parse(self.low, self.dimension).value, parse(self.high, self.dimension).value
        slack = 1e-9 * max(abs(low), abs(high))
        if self.above_zero and quantity.value <= 0:
            raise refusal("nonsense-size", f"'{quantity.text}' is not above zero", self._range())
        if not low - slack <= quantity.value <= high + slack:
            raise refusal(
                "nonsense-size", f"'{quantity.text}' is not a sensible size here", self._range()
            )

    def _range(self) -> str:
        start = "a value above zero," if self.above_zero else f"a value from {self.low}"
        return f"write {start} up to {self.high}; check the number and the unit"

    def __get_pydantic_core_schema__(
        self, _source: Any, _handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self)

    def __get_pydantic_json_schema__(
        self, _schema: CoreSchema, _handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        one = {"type": "string", "maxLength": 60, "pattern": QUANTITY_PATTERN}
        return {
            "description": f"{self.dimension} with its unit, for example {EXAMPLES[self.dimension]}; "
            "or two or three such values that agree within 2 %",
            "anyOf": [one, {"type": "array", "items": one, "minItems": 2, "maxItems": 3}],
        }


PlateLength = Annotated[Quantity, Rule("length", "20 mm", "3000 mm")]
PlateThickness = Annotated[Quantity, Rule("length", "5 mm", "200 mm")]
Size = Annotated[Quantity, Rule("length", "1 mm", "2000 mm")]
SmallSize = Annotated[Quantity, Rule("length", "0.5 mm", "300 mm")]
Depth = Annotated[Quantity, Rule("length", "0 mm", "150 mm", above_zero=True)]
Coordinate = Annotated[Quantity, Rule("length", "-3000 mm", "3000 mm")]
Height = Annotated[Quantity, Rule("length", "0 mm", "1000 mm", above_zero=True)]
Stock = Annotated[Quantity, Rule("length", "0 mm", "50 mm")]
Tolerance = Annotated[Quantity, Rule("length", "0 mm", "10 mm", above_zero=True)]
Limit = Annotated[Quantity, Rule("length", "-5 mm", "5 mm")]
Chip = Annotated[Quantity, Rule("length", "0 mm", "5 mm", above_zero=True)]
Torque = Annotated[Quantity, Rule("torque", "0.1 N*m", "500 N*m")]
Force = Annotated[Quantity, Rule("force", "10 N", "500 kN")]
WedgeAngle = Annotated[Quantity, Rule("angle", "1 deg", "60 deg")]
Undercut = Annotated[Quantity, Rule("angle", "0 deg", "30 deg")]
Lead = Annotated[Quantity, Rule("angle", "1 deg", "90 deg")]
Stiffness = Annotated[Quantity, Rule("stiffness", "0.1 kN/mm", "5000 kN/mm")]
Scatter = Annotated[Quantity, Rule("share", "0.1 %", "100 %")]
CutSpeed = Annotated[Quantity, Rule("speed", "1 m/min", "3000 m/min")]
Seconds = Annotated[Quantity, Rule("time", "0 s", "24 h")]
Minutes = Annotated[Quantity, Rule("time", "0 s", "10 h", above_zero=True)]
DirectionAngle = Annotated[Quantity, Rule("angle", "-180 deg", "180 deg")]

Id = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$")]
Label = Annotated[str, StringConstraints(pattern=r"^[^\x00-\x1f\x7f]{1,120}$")]
Code = Annotated[str, StringConstraints(pattern=r"^[A-Z0-9][A-Z0-9-]{0,31}$")]
Revision = Annotated[str, StringConstraints(pattern=r"^[A-Z0-9][A-Z0-9.-]{0,7}$")]


@dataclass(frozen=True)
class Limits:
    """Lowest and highest reading allowed; a single limit L stands for -L to L, with a width of L."""

    low: Quantity
    high: Quantity

    @property
    def width_mm(self) -> float:
        return round(limit_width_mm(self.low.mm, self.high.mm), 9)


_LIMIT = Rule("length", "-5 mm", "5 mm")
_SINGLE_LIMIT = Rule("length", "0 mm", "5 mm", above_zero=True)


def read_limits(value: object) -> Limits:
    """One limit ("0.05 mm") or a pair [low, high]."""
    if not isinstance(value, list):
        high = _SINGLE_LIMIT(value)
        return Limits(Quantity(f"-{high.text.strip()}", -high.value, "length"), high)
    if len(value) != 2:
        raise refusal(
            "limits",
            f"a list of {len(value)} stands where limits are due",
            'write ["-0.02 mm", "0.03 mm"]',
        )
    low, high = _LIMIT(value[0]), _LIMIT(value[1])
    if not low.value < high.value:
        raise refusal(
            "limits",
            f"the low limit {low.text} is not below the high limit {high.text}",
            f'write the lower one first: ["{high.text}", "{low.text}"]'
            if low.value > high.value
            else "give the two limits different values",
        )
    return Limits(low, high)


_LIMIT_TEXT = {"type": "string", "maxLength": 60, "pattern": QUANTITY_PATTERN}
LimitsField = Annotated[
    Limits,
    BeforeValidator(read_limits),
    WithJsonSchema(
        {
            "description": 'one limit, "0.05 mm", or two, ["-0.02 mm", "0.03 mm"]',
            "anyOf": [
                _LIMIT_TEXT,
                {"type": "array", "items": _LIMIT_TEXT, "minItems": 2, "maxItems": 2},
            ],
        }
    ),
]

_DIRECTION = Rule("angle", "-180 deg", "180 deg")


def read_direction(value: object) -> float:
    """The direction in which a clamp spreads, in degrees from x towards y."""
    match value:
        case "x":
            return 0.0
        case "y":
            return 90.0
        case str() if len(value) == 1:
            raise refusal(
                "axis",
                f"'{value}' is no axis of the plate",
                'write "x", "y" or an angle like "30 deg"',
            )
        case _:
            return _DIRECTION(value).deg


Direction = Annotated[
    float,
    BeforeValidator(read_direction),
    WithJsonSchema(
        {"type": "string", "maxLength": 60, "description": '"x", "y" or an angle like "30 deg"'}
    ),
]


def read_order(value: object) -> list[str] | None:
    """The clamps in the order of tightening, or nothing for "auto"."""
    if value == "auto":
        return None
    if isinstance(value, list) and all(isinstance(name, str) for name in value):
        return list(value)
    raise refusal(
        "order",
        'the order is neither "auto" nor a list of clamp ids',
        'write "auto" or ["C1", "C2"]',
    )


Order = Annotated[
    list[Id] | None,
    BeforeValidator(read_order),
    WithJsonSchema(
        {
            "anyOf": [
                {"const": "auto"},
                {"type": "array", "items": {"type": "string"}, "minItems": 1, "maxItems": 200},
            ]
        }
    ),
]

Share = Annotated[float, Field(strict=True, gt=0, le=1, allow_inf_nan=False)]
