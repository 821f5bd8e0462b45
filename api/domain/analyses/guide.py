"""What the bench needs to say, with no network, how far the plate should have bowed by now.

Tightening one clamp while the others keep their spread changes every force in proportion. With
`carry[i][j]` the change of force in clamp i per newton added at clamp j, and `bow_um_per_n[p][j]`
the change of height at point p per newton added at clamp j, one pull of clamp j to the share s is

    d = max(0, s * target_n[j] - force[j])          a click wrench cannot lower a force
    force[i] = max(0, force[i] + carry[i][j] * d)
    height[p] = height[p] + bow_um_per_n[p][j] * d

from `force = 0` and `height = start_um` of the state in which the plate is tightened.
"""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict

from api.domain.analyses.result import Band, Result
from api.domain.designs.document import State


class Guide(BaseModel):
    """Rows and columns of `carry` follow `clamps`, rows of `bow_um_per_n` follow `points`.

    `expected_um` holds the
    expected reading of each point (its read state less its zero state).
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    clamps: list[str]
    points: list[str]
    tightened: State
    target_n: list[float]
    carry: list[list[float]]
    bow_um_per_n: list[list[float]]
    start_um: list[float]
    expected_um: dict[str, Band]


class Analysis(BaseModel):
    """A result with the guide for the bench; `guide` is missing where nothing could be computed.

    `inputs` is the hash of all that went in, `method` the version of the way it was computed.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    inputs: str
    method: str
    result: Result
    guide: Guide | None
