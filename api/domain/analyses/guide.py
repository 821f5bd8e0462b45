"""What the bench needs to say, with no network, how far the plate should have bowed by now.

Each clamp presses one or two parts, each part is pressed by one or two clamps; `presses[i][j]` is 1
where clamp j presses part i. A clamp that is not turned keeps its spread u[j] (um), 0 at touch. The
forces f[i] >= 0 (N) that press the parts are those for which

    gap[i] = sum_k flexibility_um_per_n[i][k] f[k] - sum_j presses[i][j] u[j]

is zero where f[i] > 0 and not negative where f[i] = 0 (a part that went loose). The force in a clamp
is the mean over the parts it presses. Tightening clamp j to the share s raises u[j] until its force
is s * target_n[j]; nothing happens where it is above that already, since a click wrench cannot lower
a force. The height at point p is start_um[p] + sum_i bow_um_per_n[p][i] f[i].
"""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict

from api.domain.analyses.result import Band, Result
from api.domain.designs.document import State


class Guide(BaseModel):
    """Clamps and target forces follow `clamps`, parts follow `stations`, rows of bow `points`.

    `tightened` is the state in which the plate is while it is tightened. `expected_um` holds the
    expected reading of each point: its read state less its zero state.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    clamps: list[str]
    stations: list[str]
    points: list[str]
    tightened: State
    target_n: list[float]
    presses: list[list[int]]
    flexibility_um_per_n: list[list[float]]
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
