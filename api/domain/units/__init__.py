"""Quantities: a number and its unit as written, and its value in SI.

Common units are in a table, so that checking a file does not load pint; any other unit a
person may write goes to pint, which knows whether it exists and what it measures.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from api.domain.errors import BadInput
from api.domain.units.tables import (
    DIMENSIONS,
    EXAMPLES,
    OTHER_SPELLINGS,
    PROBABLY_MEANT,
    SCREEN,
    UNITS,
    WIDEST,
    Dimension,
)

if TYPE_CHECKING:
    from pint import UnitRegistry

__all__ = [
    "SCREEN",
    "UNITS",
    "Dimension",
    "Quantity",
    "QuantityError",
    "parse",
    "parse_agreeing",
    "to_si",
    "to_unit",
]

LONGEST_TEXT = 60
AGREEMENT = 0.02

_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
_COMMA = re.compile(r"[+-]?[0-9]+,[0-9]+")
_NOT_FINITE = re.compile(r"[+-]?(?:nan|inf|infinity)(?![A-Za-z])", re.IGNORECASE)
_UNIT = re.compile(r"[A-Za-zµ°%\"]+[23]?(?:[*/-][A-Za-zµ]+[23]?){0,3}")


class QuantityError(BadInput):
    """A quantity that cannot be taken; `fix` says what would be right."""

    code = "quantity"

    def __init__(self, message: str, *, code: str, fix: str) -> None:
        super().__init__(message, code=code)
        self.fix = fix


@dataclass(frozen=True, slots=True)
class Quantity:
    """`text` as written, `value` in SI (m, N·m, N, rad, s, N/m, m/s, Pa, kg, 1).

    `confirmed` is true where the file gave two values that agree.
    """

    text: str
    value: float
    dimension: Dimension
    confirmed: bool = False

    @property
    def mm(self) -> float:
        """A length in millimetres, free of the last bits that the metre adds."""
        return round(self.value * 1e3, 9)

    @property
    def deg(self) -> float:
        return round(math.degrees(self.value), 9)

    @property
    def unit(self) -> str:
        return _split(self.text)[1]


def parse(text: object, dimension: Dimension) -> Quantity:
    """The quantity in `text`, or `QuantityError` saying what would be right."""
    if isinstance(text, bool) or not isinstance(text, int | float | str):
        raise _error(
            "not-a-quantity", f"{_kind(text)} stands where {_article(dimension)} is due", dimension
        )
    if not isinstance(text, str):
        return _refuse_bare(text, dimension)
    if len(text) > LONGEST_TEXT:
        raise _error(
            "not-a-quantity",
            f"a text of {len(text)} characters stands where {_article(dimension)} is due",
            dimension,
        )
    number, unit = _split(text)
    return Quantity(
        text, _finite(number, text, dimension) * _factor(unit, text, dimension), dimension
    )


def parse_agreeing(texts: list[object], dimension: Dimension) -> Quantity:
    """One quantity given in several units; the first counts, the others must agree within 2 %."""
    if len(texts) not in {2, 3}:
        raise _error(
            "not-a-quantity",
            f"a list of {len(texts)} stands where one {dimension} is due",
            dimension,
        )
    found = [parse(text, dimension) for text in texts]
    first = found[0]
    for other in found[1:]:
        if abs(other.value - first.value) > AGREEMENT * max(abs(first.value), abs(other.value)):
            raise QuantityError(
                f"{first.text} and {other.text} are given for one thing but differ by more than 2 %",
                code="values-disagree",
                fix=f"{first.text} is {_in_unit(first.value, other.unit)}; correct one or leave one out",
            )
    return Quantity(first.text, first.value, dimension, confirmed=True)


def to_unit(value_si: float, unit: str) -> float:
    """An SI value in `unit` (`N*m`, `lbf*in`, `mm` ...)."""
    return value_si / UNITS[OTHER_SPELLINGS.get(unit, unit)][1]


def to_si(value: float, unit: str) -> float:
    """A value in `unit` in SI."""
    return value * UNITS[OTHER_SPELLINGS.get(unit, unit)][1]


def _refuse_bare(number: float, dimension: Dimension) -> Quantity:
    if not math.isfinite(number):
        raise _error("not-finite", f"{number} stands where {_article(dimension)} is due", dimension)
    shown = f"{number:.6g}"
    raise _error("bare-number", f"{shown} has no unit; {_article(dimension)} is due", dimension)


def _split(text: str) -> tuple[str, str]:
    stripped = text.strip()
    found = _NUMBER.match(stripped)
    number = found.group() if found else ""
    return number, normal_unit(stripped[len(number) :])


def normal_unit(unit: str) -> str:
    """The one spelling of a unit: dots become `*`, the two micro signs one, spaces go."""
    plain = re.sub(r"\s+", "", unit[:LONGEST_TEXT])
    plain = plain.replace("·", "*").replace("⋅", "*").replace("×", "*").replace("μ", "µ")
    plain = plain.replace("**", "").replace("^", "")
    return OTHER_SPELLINGS.get(plain, plain)


def _finite(number: str, text: str, dimension: Dimension) -> float:
    stripped = text.strip()
    if _NOT_FINITE.match(stripped):
        raise _error("not-finite", f"'{text}' is not a finite number", dimension)
    if _COMMA.match(stripped):
        raise QuantityError(
            f"'{text}' has a decimal comma",
            code="not-a-quantity",
            fix=f'write a decimal point: "{stripped.replace(",", ".", 1)}"',
        )
    if not number:
        raise _error("not-a-quantity", f"'{text}' is not a number with a unit", dimension)
    value = float(number)
    if not math.isfinite(value):
        raise _error("not-finite", f"'{text}' is not a finite number", dimension)
    return value


def _factor(unit: str, text: str, dimension: Dimension) -> float:
    if not unit:
        raise _error(
            "bare-number", f"'{text}' has no unit; {_article(dimension)} is due", dimension
        )
    if unit in UNITS:
        found, factor = UNITS[unit]
    elif unit in PROBABLY_MEANT:
        meant = PROBABLY_MEANT[unit]
        raise QuantityError(
            f"'{unit}' in '{text}' is not a unit used here",
            code="unknown-unit",
            fix=f'write "{_split(text)[0]} {meant}" if that is meant; {_article(dimension)} is written like '
            f"{EXAMPLES[dimension]}",
        )
    else:
        found, factor = _ask_pint(unit, text, dimension)
    if found != dimension:
        raise QuantityError(
            f"'{text}' is {_article(found)}, but {_article(dimension)} is due",
            code="wrong-dimension",
            fix=f"write {_article(dimension)}, for example {EXAMPLES[dimension]}",
        )
    return factor


def _ask_pint(unit: str, text: str, dimension: Dimension) -> tuple[Dimension, float]:
    unknown = _error("unknown-unit", f"the unit '{unit[:20]}' in '{text}' is not known", dimension)
    if not _UNIT.fullmatch(unit) or "-" in unit:
        raise unknown
    registry = _registry()
    spelled = re.sub(r"([A-Za-zµ])([23])", r"\1**\2", unit)
    try:
        measured = registry.Quantity(1.0, spelled).to_base_units()
    except Exception as reason:  # pint raises many kinds
        raise unknown from reason
    for name in DIMENSIONS:
        if name != "share" and measured.check(_PINT_DIMENSIONS[name]) and _same_kind(name, spelled):
            return name, float(measured.magnitude)
    raise QuantityError(
        f"'{text}' measures something else than {_article(dimension)}",
        code="wrong-dimension",
        fix=f"write {_article(dimension)}, for example {EXAMPLES[dimension]}",
    )


_PINT_DIMENSIONS: dict[str, str] = {
    "length": "[length]",
    "torque": "[force] * [length]",
    "force": "[force]",
    "angle": "[]",
    "time": "[time]",
    "stiffness": "[force] / [length]",
    "speed": "[speed]",
    "pressure": "[pressure]",
    "mass": "[mass]",
}


def _same_kind(name: str, spelled: str) -> bool:
    """Energy has the dimension of torque, and a plain ratio that of an angle; neither is one."""
    if name == "torque":
        return "*" in spelled
    return name != "angle" or spelled in {"mrad", "arcmin", "arcsec", "degree", "radian", "turn"}


@lru_cache(maxsize=1)
def _registry() -> UnitRegistry[float]:
    from pint import UnitRegistry as Registry  # slow to load, seldom needed

    return Registry(autoconvert_offset_to_baseunit=False)


def check_size(quantity: Quantity) -> None:
    """Refuse a size no fixture has, whatever the field."""
    widest, shown = WIDEST[quantity.dimension]
    if abs(quantity.value) > widest:
        raise QuantityError(
            f"'{quantity.text}' is more than any fixture has (at most {shown})",
            code="nonsense-size",
            fix=f"check the number and the unit; write it like {EXAMPLES[quantity.dimension]}",
        )


def _in_unit(value_si: float, unit: str) -> str:
    if unit not in UNITS:
        return f"{value_si:.4g} in SI units"
    return f"{to_unit(value_si, unit):.4g} {unit}"


def _error(code: str, message: str, dimension: Dimension) -> QuantityError:
    return QuantityError(
        message, code=code, fix=f"write it with its unit, for example {EXAMPLES[dimension]}"
    )


def _article(dimension: str) -> str:
    return f"an {dimension}" if dimension[0] in "aeiou" else f"a {dimension}"


def _kind(value: object) -> str:
    match value:
        case bool():
            return "true or false"
        case list() | tuple():
            return "a list"
        case dict():
            return "a table"
        case None:
            return "nothing"
        case _:
            return "a date" if hasattr(value, "isoformat") else "something that is no quantity"
