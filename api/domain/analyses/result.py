"""The result of a check, key for key what `clampbook check FILE --json` prints.

Units stand in the names. Nothing here is measured: every value is estimated from idealised models
and typical data; bands (`low`, `usual`, `high`) are 95 % intervals.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal

from pydantic import BaseModel, ConfigDict

from api.domain.cautions import CAUTIONS
from api.domain.designs.document import State
from api.domain.designs.findings import LEVELS, Finding, Level

LimitedBy = Literal["clamp rating", "screw", "thread in the plate", "none known"]
Verdict = Literal["within", "undecided", "beyond"]
Mode = Literal["slip", "lift", "tip", "turn"]


class Value(BaseModel):
    """Common behaviour of everything in a result."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Band(Value):
    low: float
    usual: float
    high: float


class Check(Value):
    """One sentence of the report; `fix` is what to change, in the imperative."""

    code: str
    level: Level
    subject: str
    message: str
    fix: str


def check_of(finding: Finding) -> Check:
    """What the checker said of a file, without its place in the file."""
    return Check(
        code=finding.code,
        level=finding.level,
        subject=finding.subject,
        message=finding.message,
        fix=finding.fix,
    )


def worst_first(checks: Iterable[Check]) -> list[Check]:
    """Stops, then advice, then notes; each kind in the order it came."""
    return sorted(checks, key=lambda check: LEVELS.index(check.level))


class ClampResult(Value):
    """`screw_n` is missing for a measured spec; `after_pass_n` has one force for each pass.

    Forces are what one jaw presses with, the mean of the two where a clamp presses two parts.
    """

    torque_nm: float
    screw_n: Band | None
    side_n: Band
    limit_nm: float | None
    limited_by: LimitedBy
    after_pass_n: list[float]
    after_lock_n: float


class PointResult(Value):
    """`state_um` is the height above the unloaded plane of the receivers; limits are [low, high]."""

    state_um: dict[State, float]
    reading_um: Band
    limit_um: tuple[float, float]
    verdict: Verdict


class Hold(Value):
    """Multiples of the cutting load that can be held, at low force and low friction; null: no limit.

    `slip` counts the load's force only, `lift` its upward part only, `tip` all of it where it acts.
    """

    slip: float | None
    lift: float | None
    tip: float | None


class StationResult(Value):
    """What the plate's shape, torqued and locked, does to the part, and how well it is held.

    `thickness_um` is the change of the part's thickness: negative where the seat has risen and the
    cut comes out thinner. `tilt_x_urad` turns about x, `tilt_y_urad` about y (right-handed). `worst`
    is how the part moves first when the load of `cut` grows; "turn" is a spin about an upright axis.
    """

    lift_um: float
    tilt_x_urad: float
    tilt_y_urad: float
    thickness_um: float
    parallelism_um: float
    flatness_um: float
    hold: Hold
    worst: Mode | None
    cut: str | None


class Map(Value):
    """Heights on a grid; `w_um[state][j][i]` belongs to (x_mm[i], y_mm[j])."""

    x_mm: list[float]
    y_mm: list[float]
    w_um: dict[State, list[list[float]]]


class Times(Value):
    """Missing (null) where the design gives no times."""

    cycle_s: float | None
    per_part_s: float | None
    walk_away_s: float | None


class Solver(Value):
    """The computation's checks of itself.

    `residual` and `reaction_error` are relative; `mesh_change` is the largest change of a state at
    a point when the grid is halved, relative to the largest height.
    """

    dofs: int
    contact_steps: int
    residual: float
    reaction_error: float
    mesh_change: float


class Result(Value):
    design: str
    revision: str
    checks: list[Check]
    clamps: dict[str, ClampResult]
    order: list[str]
    passes: list[float]
    pulls: int
    movers_expected: int
    points: dict[str, PointResult]
    stations: dict[str, StationResult]
    map: Map | None
    mass_kg: float | None
    time: Times
    assumed: list[str]
    solver: Solver | None
    cautions: list[str]

    @property
    def stops(self) -> list[Check]:
        return [check for check in self.checks if check.level == "stop"]


def uncomputed(checks: Sequence[Check], design: str = "", revision: str = "") -> Result:
    """A result of which only the checks are known."""
    return Result(
        design=design,
        revision=revision,
        checks=list(checks),
        clamps={},
        order=[],
        passes=[],
        pulls=0,
        movers_expected=0,
        points={},
        stations={},
        map=None,
        mass_kg=None,
        time=Times(cycle_s=None, per_part_s=None, walk_away_s=None),
        assumed=[],
        solver=None,
        cautions=[CAUTIONS],
    )
