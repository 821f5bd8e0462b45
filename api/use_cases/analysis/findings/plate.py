"""Findings about the plate: whether it stays down, and what the indicator will show."""

from __future__ import annotations

from collections.abc import Iterator

from api.domain.analyses.result import Check, PointResult
from api.domain.designs.document import Point
from api.use_cases.analysis.computing import Computed
from api.use_cases.analysis.remedies import Remedies
from api.use_cases.analysis.sentences import kn, listed, mm, span

LEFT = 0.01  # of the pull: less on its pad counts as nothing


def receivers(done: Computed) -> Iterator[Check]:
    """Receivers that the torqued, locked plate has left."""
    rests, state = done.found.response.rests, done.found.tightened.locked
    pads = done.found.assembly.receivers
    flat = float(state.contact_n[rests.pad < 0].sum()) > 0
    left = [
        str(number + 1)
        for number in range(len(pads.x_m))
        if float(state.contact_n[rests.pad == number].sum()) <= LEFT * pads.pull_n
    ]
    if not left:
        return
    yield Check(
        code="leaves-receiver",
        level="stop",
        subject=f"receiver {listed(left)}",
        message=f"the torqued plate lifts off receiver{'s' * (len(left) > 1)} {listed(left)}: "
        f"each pulls with {kn(pads.pull_n)}, and nothing presses on its pad any more"
        + (", the plate stands on the base beside it" if flat else ""),
        fix="use receivers that pull harder, lower the torque, or set them nearer to where the plate bows",
    )


def points(done: Computed, results: dict[str, PointResult], remedies: Remedies) -> Iterator[Check]:
    for k, point in enumerate(done.ground.design.points):
        result = results[point.id]
        if result.verdict == "within":
            continue
        reading, (low, high) = result.reading_um, result.limit_um
        beyond = not low <= reading.usual <= high
        yield Check(
            code="reading-beyond-limit" if beyond else "reading-undecided",
            level="stop" if result.verdict == "beyond" else "advice",
            subject=f"point {point.id}",
            message=f"{point.id} is expected to read {mm(reading.usual)} "
            f"({span(reading.low, reading.high)}), {point.read} from {point.zero}; its limit is "
            f"{_limit(point)}" + ("" if beyond else ", inside that band"),
            fix=remedies.for_point(k),
        )


def _limit(point: Point) -> str:
    if point.low_mm == -point.high_mm:
        return mm(point.high_mm * 1e3)
    return span(point.low_mm * 1e3, point.high_mm * 1e3)
