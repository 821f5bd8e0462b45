"""Guides of invented plates: any number of clamps, one or two parts each, seeded."""

from __future__ import annotations

from random import Random

from api.domain.analyses.guide import Guide
from api.domain.analyses.guiding import Pull
from api.domain.analyses.result import Band

PART_UM_PER_N = (0.004, 0.02)
TORQUED_N = (3000.0, 9000.0)
BOW_UM_PER_N = 0.002


def guide_of(clamps: int, *, coupling: float, seed: int, twin: bool = False) -> Guide:
    """`coupling` scales how much the parts share through the plate; `twin` clamps press two parts.

    Flexibility is diagonal plus root root', so it is positive definite whatever the seed says.
    """
    random = Random(f"{seed}/{clamps}/{coupling}/{twin}")
    parts = 2 * clamps if twin else clamps
    return Guide(
        clamps=[f"C{n}" for n in range(1, clamps + 1)],
        stations=[f"P{n}" for n in range(1, parts + 1)],
        points=["A", "B"],
        tightened="torqued free",
        target_n=[round(random.uniform(*TORQUED_N), 1) for _ in range(clamps)],
        presses=[[int(i // (2 if twin else 1) == j) for j in range(clamps)] for i in range(parts)],
        flexibility_um_per_n=_flexibility(parts, coupling, random),
        bow_um_per_n=[[_bow(random) for _ in range(parts)] for _ in "AB"],
        start_um=[round(random.uniform(-6, 0), 2) for _ in "AB"],
        expected_um={"A": Band(low=21.0, usual=27.0, high=34.0)},
    )


def _bow(random: Random) -> float:
    return round(random.uniform(-0.2, 1.0) * BOW_UM_PER_N, 6)


def _flexibility(parts: int, coupling: float, random: Random) -> list[list[float]]:
    shares = [[random.uniform(-0.4, 1.0) for _ in range(3)] for _ in range(parts)]
    matrix = [
        [coupling * 0.01 * sum(a * b for a, b in zip(one, other, strict=True)) for other in shares]
        for one in shares
    ]
    for i, row in enumerate(matrix):
        row[i] += random.uniform(*PART_UM_PER_N)
    return [[round(value, 7) for value in row] for row in matrix]


def passes(guide: Guide, *shares: float) -> list[Pull]:
    return [(clamp, share) for share in shares for clamp in guide.clamps]
