"""How far a torque tool may be off (ISO 6789-1:2017)."""

from __future__ import annotations

from typing import Literal

import numpy as np

from api.mechanics.screws.values import ImpossibleInput, Values, require_positive

ToolType = Literal["I", "II"]
LIMIT_NM = 10.0
COARSE, FINE = 0.06, 0.04

# Classes of type I (indicating) and type II (setting) with 4 % above 10 N·m; the others keep 6 %.
_FINE_CLASSES: dict[ToolType, str] = {"I": "BCE", "II": "ABC"}
_CLASSES: dict[ToolType, str] = {"I": "ABCDE", "II": "ABCDEFG"}


def permitted_deviation(tool_type: ToolType, tool_class: str, torque_nm: Values) -> Values:
    """Share by which a tool may deviate at a torque, same shape.

    6 % up to 10 N·m. Above: 4 % for type I classes B, C, E and type II classes A, B, C; 6 % else.
    """
    require_positive("torque", torque_nm)
    if len(tool_class) != 1 or tool_class not in _CLASSES[tool_type]:
        known = ", ".join(_CLASSES[tool_type])
        raise ImpossibleInput(f"type {tool_type} has no class {tool_class}; write one of {known}")
    above = FINE if tool_class in _FINE_CLASSES[tool_type] else COARSE
    return COARSE + (above - COARSE) * (np.asarray(torque_nm) > LIMIT_NM).astype(np.float64)
