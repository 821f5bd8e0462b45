"""A solved design as the figures of a result: clamps, points, stations, map, guide."""

from __future__ import annotations

from collections.abc import Sequence

from api.domain.analyses.guide import Guide
from api.domain.analyses.result import (
    Band,
    ClampResult,
    Hold,
    LimitedBy,
    Map,
    PointResult,
    Solver,
    StationResult,
    Times,
    Verdict,
)
from api.domain.designs.document import Clamp, Design, Point, State
from api.domain.designs.strength.caps import caps
from api.mechanics.side_force.forces import Frictions
from api.mechanics.whole.bands import Spread
from api.mechanics.whole.guiding import guidance
from api.mechanics.whole.holding import Held
from api.mechanics.whole.run import Accuracy, Bands, Pose, Solved
from api.mechanics.whole.sites import seats, surface
from api.use_cases.analysis.ground import Ground

POSE_OF: dict[State, Pose] = {
    "empty locked": "bare pulled",
    "snug free": "touched lying",
    "snug locked": "touched pulled",
    "torqued free": "pressed lying",
    "torqued locked": "pressed pulled",
}
MAP_STEP_M = 0.0125
LIMIT_NAMES: dict[str, LimitedBy] = {
    "the rating": "clamp rating",
    "the screw,": "screw",
    "the thread": "thread in the plate",
}


def band(spread: Spread, k: int, scale: float = 1.0) -> Band:
    low, usual, high = (float(values[k]) for values in (spread.low, spread.usual, spread.high))
    return Band(low=low * scale, usual=usual * scale, high=high * scale)


def clamp_results(ground: Ground, found: Solved, bands: Bands) -> dict[str, ClampResult]:
    locked = bands.locked.usual
    return {
        clamp.id: _clamp(ground, clamp, k, found, bands, float(locked[k]))
        for k, clamp in enumerate(ground.design.clamps)
    }


def _clamp(
    ground: Ground, clamp: Clamp, k: int, found: Solved, bands: Bands, locked_n: float
) -> ClampResult:
    limit = limit_of(ground, clamp, found)
    screw = band(bands.screw, k)
    return ClampResult(
        torque_nm=clamp.torque_nm,
        screw_n=screw if screw.usual == screw.usual else None,
        side_n=band(bands.side, k),
        limit_nm=None if limit is None else limit[0],
        limited_by="none known" if limit is None else limit[1],
        after_pass_n=[float(force) for force in found.tightened.run.jack_n[:, k]],
        after_lock_n=locked_n,
    )


def limit_of(ground: Ground, clamp: Clamp, found: Solved) -> tuple[float, LimitedBy] | None:
    """The least torque at which rating, screw or thread is reached; a rated force at low friction."""
    spec = ground.specs[clamp.spec]
    known: list[tuple[float, LimitedBy]] = [
        (cap.torque_nm, LIMIT_NAMES[cap.what[:10]])
        for cap in caps(ground.design, spec, ground.stores)
    ]
    if spec.rated is not None and spec.rated.force is not None:
        jack = found.assembly.jacks[list(ground.clamps).index(clamp.id)]
        usual = Frictions.same(jack.friction.usual, jack.base.usual)
        known.append(
            (float(jack.spreader.torque_nm(spec.rated.force.value, usual)), "clamp rating")
        )
    return min(known, default=None)


def point_results(design: Design, found: Solved, bands: Bands) -> dict[str, PointResult]:
    return {
        point.id: PointResult(
            state_um={
                state: float(found.heights_m[pose][k]) * 1e6 for state, pose in POSE_OF.items()
            },
            reading_um=(reading := band(bands.readings, k, 1e6)),
            limit_um=(point.low_mm * 1e3, point.high_mm * 1e3),
            verdict=verdict_of(point, reading),
        )
        for k, point in enumerate(design.points)
    }


def verdict_of(point: Point, reading: Band) -> Verdict:
    """By the whole band: within, beyond, or undecided where a limit cuts it."""
    low, high = point.low_mm * 1e3, point.high_mm * 1e3
    if low <= reading.low and reading.high <= high:
        return "within"
    return "beyond" if reading.high < low or reading.low > high else "undecided"


def station_results(
    design: Design, found: Solved, holds: Sequence[Held | None]
) -> dict[str, StationResult]:
    seated = seats(
        found.response.on.solver, found.assembly.sites, found.poses["pressed pulled"].field
    )
    return {
        station.id: StationResult(
            lift_um=seat.lift_m * 1e6,
            tilt_x_urad=seat.turn_x_rad * 1e6,
            tilt_y_urad=seat.turn_y_rad * 1e6,
            thickness_um=seat.thickness_m * 1e6,
            parallelism_um=seat.parallelism_m * 1e6,
            flatness_um=seat.flatness_m * 1e6,
            hold=_hold(held),
            worst=None if held is None else held.margins.mode,
            cut=None if held is None else held.tool,
        )
        for station, seat, held in zip(design.stations, seated, holds, strict=True)
    }


def _hold(held: Held | None) -> Hold:
    if held is None:
        return Hold(slip=None, lift=None, tip=None)
    slip, lift, tip = (
        None if multiple == float("inf") else float(multiple)
        for multiple in (held.margins.slip, held.margins.lift, held.margins.tip)
    )
    return Hold(slip=slip, lift=lift, tip=tip)


def map_of(found: Solved) -> Map:
    """Heights of every state about every 12.5 mm, to a hundredth of a micrometre."""
    fields = [found.poses[pose].field for pose in POSE_OF.values()]
    grid = surface(found.response.on.solver, fields, MAP_STEP_M)
    heights = [
        [[round(v * 1e6, 2) for v in row] for row in table.tolist()] for table in grid.heights_m
    ]
    return Map(
        x_mm=[round(x * 1e3, 3) for x in grid.x_m.tolist()],
        y_mm=[round(y * 1e3, 3) for y in grid.y_m.tolist()],
        w_um=dict(zip(POSE_OF, heights, strict=True)),
    )


def times_of(design: Design) -> Times:
    """Tool by tool over all parts: cutting, one change per tool, and the change of plates."""
    if design.time is None:
        return Times(cycle_s=None, per_part_s=None, walk_away_s=None)
    cutting = sum(cut.minutes.value for cut in design.cuts) * len(design.stations)
    changes = design.time.tool_changes * design.time.tool_change.value
    cycle = cutting + changes + design.time.plate_change.value
    return Times(
        cycle_s=cycle, per_part_s=cycle / len(design.stations), walk_away_s=cutting + changes
    )


def solver_of(accuracy: Accuracy) -> Solver:
    return Solver(
        dofs=accuracy.unknowns,
        contact_steps=accuracy.contact_steps,
        residual=accuracy.residual,
        reaction_error=accuracy.balance_error,
        mesh_change=accuracy.grid_change,
    )


def guide_of(design: Design, found: Solved, points: dict[str, PointResult]) -> Guide:
    """In micrometres and newtons, as the bench uses them."""
    numbers = guidance(found)
    return Guide(
        clamps=[clamp.id for clamp in design.clamps],
        stations=[station.id for station in design.stations],
        points=[point.id for point in design.points],
        tightened="torqued locked" if found.assembly.tightened_locked else "torqued free",
        target_n=[round(force, 2) for force in numbers.target_n.tolist()],
        presses=[[int(jaws) for jaws in row] for row in numbers.presses.tolist()],
        flexibility_um_per_n=_rounded(numbers.flexibility_m_per_n.tolist()),
        bow_um_per_n=_rounded(numbers.bow_m_per_n.tolist()),
        start_um=[round(height * 1e6, 3) for height in numbers.start_m.tolist()],
        expected_um={name: point.reading_um for name, point in points.items()},
    )


def _rounded(table: list[list[float]]) -> list[list[float]]:
    """To seven digits, in micrometres."""
    return [[float(f"{value * 1e6:.7g}") for value in row] for row in table]
