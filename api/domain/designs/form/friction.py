"""Friction in a clamp spec: one number, or low, usual and high."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated

from pydantic import BeforeValidator, WithJsonSchema

from api.domain.designs.form.fields import refusal


@dataclass(frozen=True)
class Friction:
    """Coefficient of friction; the three are equal where one number was given."""

    low: float
    usual: float
    high: float


def _friction_number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise refusal("friction", "friction must be a plain number", "write it like 0.12")
    if value > 1:
        tenth, hundredth = value / 10, value / 100
        meant = tenth if tenth <= 0.5 else hundredth
        example = f"{meant:.2g}" if meant <= 1 else "0.12"
        raise refusal(
            "friction-above-one",
            f"a friction of {value:.6g} is above 1; probably a decimal point is lost",
            f"write {example} if that is meant; friction lies between 0.02 and 1",
        )
    if value < 0.02:
        raise refusal(
            "friction",
            f"a friction of {value:.6g} is too low to be real",
            "write a value from 0.02 to 1",
        )
    return float(value)


def read_friction(value: object) -> Friction:
    """A number, or a table with low, usual and high in that order."""
    if not isinstance(value, dict):
        number = _friction_number(value)
        return Friction(number, number, number)
    if set(value) != {"low", "usual", "high"}:
        raise refusal(
            "friction",
            "a friction table must have low, usual and high",
            "write { low = 0.08, usual = 0.12, high = 0.16 }",
        )
    low, usual, high = (_friction_number(value[key]) for key in ("low", "usual", "high"))
    if not low <= usual <= high:
        raise refusal(
            "friction", "friction must run low, usual, high", "put the three values in rising order"
        )
    return Friction(low, usual, high)


_FRICTION_NUMBER = {"type": "number", "minimum": 0.02, "maximum": 1}
FrictionField = Annotated[
    Friction,
    BeforeValidator(read_friction),
    WithJsonSchema(
        {
            "anyOf": [
                _FRICTION_NUMBER,
                {
                    "type": "object",
                    "additionalProperties": False,
                    "required": ["low", "usual", "high"],
                    "properties": dict.fromkeys(("low", "usual", "high"), _FRICTION_NUMBER),
                },
            ]
        }
    ),
]
