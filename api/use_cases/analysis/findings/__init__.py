"""What the figures mean, in sentences with a number and a remedy."""

from __future__ import annotations

from api.domain.analyses.result import Check, ClampResult, PointResult, StationResult
from api.use_cases.analysis.computing import Computed
from api.use_cases.analysis.findings import computation, forces, grip, part, plate
from api.use_cases.analysis.remedies import Remedies


def findings(
    done: Computed,
    clamps: dict[str, ClampResult],
    points: dict[str, PointResult],
    stations: dict[str, StationResult],
) -> list[Check]:
    """By what they are about; the caller puts the worst first."""
    remedies = Remedies(done)
    return [
        *forces.ratings(done, clamps),
        *forces.losses(done, remedies),
        *forces.gains(done, clamps),
        *forces.movers(done),
        *forces.order(done),
        *forces.proof(done, clamps),
        *forces.hidden_losses(done),
        *plate.receivers(done),
        *plate.points(done, points, remedies),
        *part.seats(done, stations, remedies),
        *grip.holds(done, remedies),
        *grip.washed_out(done, clamps),
        *part.leaning_faces(done),
        *part.hard_parts(done),
        *part.marks(done),
        *part.squeeze(done),
        *grip.cuts(done),
        *computation.accuracy(done),
    ]
