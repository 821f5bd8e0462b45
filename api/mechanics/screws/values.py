"""Numbers that may be one value or many, and the refusal of impossible ones."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Values = float | npt.NDArray[np.float64]


class ImpossibleInput(ValueError):
    """An input no screw, wedge or tool can have; the message says what would be right."""


def require(holds: bool | np.bool | npt.NDArray[np.bool], message: str) -> None:
    """Refuse unless the condition holds for every value; NaN holds nowhere."""
    if not np.all(holds):
        raise ImpossibleInput(message)


def require_friction(where: str, mu: Values) -> None:
    require(
        np.isfinite(mu) & (np.asarray(mu) >= 0),
        f"the friction of the {where} must be a number from 0 up; give one like 0.12",
    )


def require_not_negative(what: str, value: Values) -> None:
    require(
        np.isfinite(value) & (np.asarray(value) >= 0),
        f"the {what} must be a number from 0 up; correct it",
    )


def require_positive(what: str, value: Values) -> None:
    require(
        np.isfinite(value) & (np.asarray(value) > 0),
        f"the {what} must be a number above 0; correct it",
    )
