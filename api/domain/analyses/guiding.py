"""Forces and heights after a list of pulls, from the guide of a released revision.

The tablet computes the same with no network (web/src/shared/core/guide.ts);
tests/vectors/guide.json holds the two together.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from api.domain.analyses.guide import Guide
from api.domain.errors import ClampbookError

Pull = tuple[str, float]

STILL = 1e-12  # a rate below this, beside that of a part alone, moves nothing
AT_TARGET = 1e-12  # of the target
CORNERS_PER_PART = 20


class GuideError(ClampbookError):
    """The guide cannot answer: it lacks the clamp, or its numbers are of no plate."""

    code = "guide"


@dataclass(frozen=True)
class Tightened:
    """`clamp_n` and `spread_um` follow the guide's clamps, `part_n` its stations.

    `height_um` and `change_um` follow its points; `change_um` is the bow, what the pulls did to
    the height, positive upward.
    """

    clamp_n: tuple[float, ...]
    part_n: tuple[float, ...]
    spread_um: tuple[float, ...]
    height_um: tuple[float, ...]
    change_um: tuple[float, ...]


def after(guide: Guide, pulls: Iterable[Pull]) -> Tightened:
    """Where the plate stands after these pulls, each a clamp and a share of its full torque.

    While clamp j is turned every other spread stays, and the signed state z of each part (its
    force where it is pressed, minus its gap where it is loose) is piecewise linear in u[j]:

        dz/du = S^-1 P_j              pressed parts; S the flexibility among them
              = P_j - A S^-1 P_j      loose parts

    so each pull is followed from corner to corner, where one part goes loose or is met, until the
    mean force over the clamp's parts is share * target_n[j]. A clamp at or above that is not turned.
    A flexibility [um/N] (stations, stations), P presses (stations, clamps), u spread [um] (clamps,).
    Derived; checked against the conditions in `Guide`'s module. Valid while the same supports carry
    the plate. Raises GuideError for a clamp it does not know and for a flexibility that is not
    positive definite.
    """
    plate = _Plate(guide)
    for clamp, share in pulls:
        if clamp not in guide.clamps:
            raise GuideError(f"The guide has no clamp {clamp}; it has {', '.join(guide.clamps)}.")
        j = guide.clamps.index(clamp)
        plate.pull(j, share * guide.target_n[j])
    return plate.tightened()


class _Plate:
    def __init__(self, guide: Guide) -> None:
        self.guide = guide
        self.signed = [0.0] * len(guide.stations)
        self.pressed = [False] * len(guide.stations)
        self.spread_um = [0.0] * len(guide.clamps)
        every = range(len(guide.stations))
        self.parts = [
            [i for i in every if guide.presses[i][j] > 0] for j in range(len(guide.clamps))
        ]

    def pull(self, j: int, goal_n: float) -> None:
        for _ in range(CORNERS_PER_PART * (len(self.signed) + 1)):
            short_n = goal_n - self._mean(j, self._force_n())
            if short_n <= AT_TARGET * goal_n:
                return
            self._to_corner(j, short_n)
        raise GuideError("Parts part and touch without end; compute the design's analysis anew.")

    def tightened(self) -> Tightened:
        force_n, start = self._force_n(), self.guide.start_um
        change = [
            sum(um * n for um, n in zip(row, force_n, strict=True))
            for row in self.guide.bow_um_per_n
        ]
        return Tightened(
            clamp_n=tuple(self._mean(j, force_n) for j in range(len(self.parts))),
            part_n=tuple(force_n),
            spread_um=tuple(self.spread_um),
            height_um=tuple(um + by for um, by in zip(start, change, strict=True)),
            change_um=tuple(change),
        )

    def _force_n(self) -> list[float]:
        pairs = zip(self.signed, self.pressed, strict=True)
        return [max(z, 0.0) if pressed else 0.0 for z, pressed in pairs]

    def _mean(self, j: int, values: Sequence[float]) -> float:
        return sum(values[i] for i in self.parts[j]) / max(1, len(self.parts[j]))

    def _to_corner(self, j: int, short_n: float) -> None:
        """Turn until the target is reached, or a part goes loose or is met."""
        rate = self._rates(j)
        gain = self._mean(j, [r if on else 0.0 for r, on in zip(rate, self.pressed, strict=True)])
        part, first_um = self._first_corner(rate)
        full_um = short_n / gain if gain > 0 else math.inf
        way_um = min(first_um, full_um)
        if math.isinf(way_um):
            raise GuideError("A clamp presses on nothing; compute the design's analysis anew.")
        self.signed = [z + way_um * r for z, r in zip(self.signed, rate, strict=True)]
        self.spread_um[j] += way_um
        if first_um < full_um:
            self.signed[part] = 0.0
            self.pressed[part] = not self.pressed[part]

    def _rates(self, j: int) -> list[float]:
        """dz/du of every part while clamp j is turned."""
        flexibility = self.guide.flexibility_um_per_n
        inside = [i for i, on in enumerate(self.pressed) if on]
        among = [[flexibility[i][k] for k in inside] for i in inside]
        pushes = [float(row[j]) for row in self.guide.presses]
        found = _solve(among, [pushes[i] for i in inside])
        rate = dict(zip(inside, found, strict=True))
        return [
            rate[i] if i in rate else push - sum(flexibility[i][k] * rate[k] for k in inside)
            for i, push in enumerate(pushes)
        ]

    def _first_corner(self, rate: Sequence[float]) -> tuple[int, float]:
        """The part that first goes loose or is met, and how far the clamp turns until then."""
        part, first_um = -1, math.inf
        for i, (z, r) in enumerate(zip(self.signed, rate, strict=True)):
            still = STILL / self.guide.flexibility_um_per_n[i][i] if self.pressed[i] else STILL
            crosses = r < -still if self.pressed[i] else r > still
            if crosses and max(-z / r, 0.0) < first_um:
                part, first_um = i, max(-z / r, 0.0)
        return part, first_um


def _solve(matrix: list[list[float]], right: list[float]) -> list[float]:
    """x of matrix x = right by elimination; the matrix is symmetric and positive definite."""
    rows = [[*row, value] for row, value in zip(matrix, right, strict=True)]
    for k, pivot in enumerate(rows):
        if not pivot[k] > 0:
            raise GuideError("The guide is of no plate; compute the design's analysis anew.")
        for i in range(k + 1, len(rows)):
            factor = rows[i][k] / pivot[k]
            rows[i] = [a - factor * b for a, b in zip(rows[i], pivot, strict=True)]
    found = [0.0] * len(rows)
    for k in reversed(range(len(rows))):
        known = sum(rows[k][i] * found[i] for i in range(k + 1, len(rows)))
        found[k] = (rows[k][-1] - known) / rows[k][k]
    return found
