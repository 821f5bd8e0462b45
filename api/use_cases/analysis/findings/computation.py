"""Findings of the computation about itself."""

from __future__ import annotations

from collections.abc import Iterator

from api.domain.analyses.result import Check
from api.use_cases.analysis.computing import Computed
from api.use_cases.analysis.sentences import percent

COARSE_CHANGE, ILL_CONDITION = 0.02, 1e6


def accuracy(done: Computed) -> Iterator[Check]:
    checks = done.accuracy
    if checks.grid_change > COARSE_CHANGE:
        yield Check(
            code="grid-matters",
            level="advice",
            subject="computation",
            message=f"halving the grid still changes the heights by {percent(checks.grid_change)}",
            fix="take the heights as rough; narrow pockets or stops are the usual cause",
        )
    if checks.condition > ILL_CONDITION:
        yield Check(
            code="ill-conditioned",
            level="advice",
            subject="computation",
            message=f"the forces in the clamps hang together badly (condition number {checks.condition:.0e})",
            fix="look for two clamps on one part, or a clamp with an extreme stiffness",
        )
