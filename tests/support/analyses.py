"""A hand-written analysis of the demonstration's SAD-20 revision B, for tests of what shows it.

The figures are of a realistic size and agree with each other; nobody computed them. Heights are
paraboloids, so that a test can tell from a place on the plate what a picture of it must show.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from api.domain.analyses.guide import Analysis, Guide
from api.domain.analyses.result import (
    Band,
    Check,
    ClampResult,
    Hold,
    Map,
    PointResult,
    Result,
    Solver,
    StationResult,
    Times,
)
from api.domain.cautions import CAUTIONS
from api.domain.designs import Design, read_design
from api.domain.designs.document import State
from api.domain.designs.findings import Finding
from api.domain.stores import Stores
from tests.support.checkout import ROOT

ORDER = ["C3", "C4", "C5", "C6", "C1", "C2", "C7", "C8"]
PASSES = [0.3, 0.7, 1.0]
SIDE_N = Band(low=4120.0, usual=5480.0, high=7310.0)
KEPT = {
    "C1": 0.995,
    "C2": 0.997,
    "C3": 0.931,
    "C4": 0.935,
    "C5": 0.957,
    "C6": 0.96,
    "C7": 1,
    "C8": 1,
}
SHAPES: dict[State, tuple[float, float, float]] = {
    "empty locked": (-6.0, 1.2, 1.0),
    "snug free": (-2.4, 1.9, 1.6),
    "snug locked": (-7.2, 1.6, 1.4),
    "torqued free": (512.0, -548.0, -64.0),
    "torqued locked": (55.0, -236.0, 18.0),
}


def sad_20(file: str = "SAD-20-B.toml") -> tuple[Design, Analysis]:
    """The design and its analysis: one advice, one note, no stop."""
    design = read_design((ROOT / "seed_data/designs" / file).read_text(), file, Stores()).design
    assert design is not None
    return design, Analysis(inputs="5f" * 32, method="1", result=result_of(design), guide=GUIDE)


def analyse(
    design: Design,
    stores: Stores,
    findings: Sequence[Finding],
    progress: Callable[[str, float], None],
) -> Analysis:
    """Stands where the computation stands: tells its progress, and adds the reader's findings."""
    progress("bending the plate", 0.5)
    told = [
        Check(code=f.code, level=f.level, subject=f.subject, message=f.message, fix=f.fix)
        for f in findings
    ]
    _, analysis = sad_20()
    result = analysis.result.model_copy(update={"checks": [*analysis.result.checks, *told]})
    progress("done", 1.0)
    return analysis.model_copy(update={"result": result})


def height_um(state: State, x_mm: float, y_mm: float) -> float:
    """Height of the 450 x 300 mm plate: `middle + a (x/225)^2 + b (y/150)^2` from its middle."""
    middle, along, across = SHAPES[state]
    x, y = (x_mm - 225) / 225, (y_mm - 150) / 150
    return middle + along * x * x + across * y * y


def result_of(design: Design) -> Result:
    return Result(
        design=design.code,
        revision=design.revision,
        checks=CHECKS,
        clamps={clamp.id: _clamp(clamp.id, clamp.torque_nm) for clamp in design.clamps},
        order=ORDER,
        passes=PASSES,
        pulls=24,
        movers_expected=2,
        points={"A": _point()},
        stations={s.id: _station(s.x_mm, s.y_mm, n) for n, s in enumerate(design.stations)},
        map=_map(),
        mass_kg=12.46,
        time=Times(cycle_s=1275.0, per_part_s=159.4, walk_away_s=1055.0),
        assumed=[
            "Bolted stops stiffen the plate by half of what one piece would (factor 0.5).",
            "The worn edge multiplies the cutting force of face by 1.3.",
            "Contact of the pads: 2.4 N/mm per mm2 of pad.",
        ],
        solver=Solver(
            dofs=4862, contact_steps=5, residual=3.1e-13, reaction_error=2.4e-12, mesh_change=0.0041
        ),
        cautions=[CAUTIONS],
    )


def _clamp(name: str, torque_nm: float) -> ClampResult:
    kept = KEPT[name]
    shares = (0.3 * (0.55 + 0.4 * kept), 0.7 * (0.35 + 0.63 * kept), kept)
    return ClampResult(
        torque_nm=torque_nm,
        screw_n=Band(low=5890.0, usual=7420.0, high=9610.0),
        side_n=SIDE_N,
        limit_nm=15.0,
        limited_by="clamp rating",
        after_pass_n=[round(SIDE_N.usual * share, 1) for share in shares],
        after_lock_n=round(SIDE_N.usual * kept * 0.975, 1),
    )


def _point() -> PointResult:
    heights = {state: round(height_um(state, 225, 150), 2) for state in SHAPES}
    return PointResult(
        state_um=heights,
        reading_um=Band(low=38.1, usual=57.4, high=81.6),
        limit_um=(-50.0, 50.0),
        verdict="undecided",
    )


def _station(x_mm: float, y_mm: float, number: int) -> StationResult:
    lift = height_um("torqued locked", x_mm, y_mm)
    tilt_y = 2 * 236.0 * (x_mm - 225) / 225 / 225 * 1e3
    slip = 2.35 - 0.11 * number
    return StationResult(
        lift_um=round(lift, 2),
        tilt_x_urad=round(2 * 18.0 * (y_mm - 150) / 150 / 150 * 1e3, 1),
        tilt_y_urad=round(tilt_y, 1),
        thickness_um=round(-lift, 2),
        parallelism_um=round(abs(tilt_y) * 0.05, 2),
        flatness_um=6.4,
        hold=Hold(slip=round(slip, 3), lift=round(1.08 + 0.21 * number, 3), tip=None),
        worst="slip" if slip < 1.08 + 0.21 * number else "lift",
        cut="dovetail slot",
    )


def _map() -> Map:
    xs = [round(450 * i / 60, 3) for i in range(61)]
    ys = [round(300 * j / 40, 3) for j in range(41)]
    heights = {s: [[round(height_um(s, x, y), 3) for x in xs] for y in ys] for s in SHAPES}
    return Map(x_mm=xs, y_mm=ys, w_um=heights)


CHECKS = [
    Check(
        code="reading-undecided",
        level="advice",
        subject="point A",
        message="A reads 38 to 82 um, limit 50: the receivers leave the middle free to rise",
        fix="put the receivers at 125/65 mm, which brings it to 12 um, or lower the torque to 10 N*m",
    ),
    Check(
        code="force-lost",
        level="note",
        subject="clamp C3",
        message="C3 ends at 93 % of its torque's force after three passes on the free plate, "
        "because C4 to C8 bow the plate away from it",
        fix="tighten with the plate locked, or accept it: no station needs more",
    ),
]

GUIDE = Guide(
    clamps=[f"C{n}" for n in range(1, 9)],
    stations=[f"P{n}" for n in range(1, 9)],
    points=["A"],
    tightened="snug free",
    target_n=[SIDE_N.usual] * 8,
    presses=[[int(i == j) for j in range(8)] for i in range(8)],
    flexibility_um_per_n=[[0.034 if i == j else 0.002 for j in range(8)] for i in range(8)],
    bow_um_per_n=[[0.0117] * 8],
    start_um=[-2.4],
    expected_um={"A": Band(low=38.1, usual=57.4, high=81.6)},
)
