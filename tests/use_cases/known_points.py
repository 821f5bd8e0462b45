"""Says at once what the demonstration's designs have been computed to do at their points."""

from __future__ import annotations

from collections.abc import Sequence

from api.domain.analyses.guide import Analysis
from api.domain.analyses.result import Band, PointResult
from api.domain.designs import Design, Finding
from api.domain.designs.document import State
from api.domain.stores import Stores
from api.use_cases.ports import Progress
from tests.support.analyser import QuickAnalyser

# Height in torqued free and torqued locked, low and high of the reading, rounded, in micrometres.
COMPUTED_UM = {
    ("SAD-20", "A"): (22.3, -28.4, -35.1, -22.7),
    ("CLR-08", "A"): (262.0, 13.5, 10.0, 19.8),
    ("CLR-08", "B"): (276.8, 15.5, 249.2, 307.5),
}


class KnownPoints(QuickAnalyser):
    method = "known points/1"

    def analyse(
        self, design: Design, stores: Stores, findings: Sequence[Finding], progress: Progress
    ) -> Analysis:
        like = super().analyse(design, stores, findings, progress)
        points = {point.id: _point(design, point.id) for point in design.points}
        return like.model_copy(update={"result": like.result.model_copy(update={"points": points})})


def _point(design: Design, name: str) -> PointResult:
    free_um, locked_um, low_um, high_um = COMPUTED_UM[design.code, name]
    point = next(one for one in design.points if one.id == name)
    state_um: dict[State, float] = {"empty locked": -5.4, "snug free": 0.0, "snug locked": -5.4}
    state_um |= {"torqued free": free_um, "torqued locked": locked_um}
    return PointResult(
        state_um=state_um,
        reading_um=Band(low=low_um, usual=state_um[point.read], high=high_um),
        limit_um=(point.low_mm * 1e3, point.high_mm * 1e3),
        verdict="within",
    )
