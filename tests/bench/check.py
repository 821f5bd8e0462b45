"""What a computation of a design costs: `python -m tests.bench.check [--repeat 3]`.

Everything on one thread of linear algebra. Times are the least processor time of a few repeats, so a
busy machine hardly shows; the time on the clock stands beside the whole check. Ratios are taken within
one run. Designs are made in `designs`: a plate 450 x 300 x 25 mm with 12 bars, on four pads or on a
base, whose grid does not depend on the number of clamps.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import TypeVar

import numpy as np
from scipy.sparse import csc_array
from scipy.sparse.linalg import splu

from api.mechanics.plate.solving import PlateSolver, solver_of
from api.mechanics.whole.assembly import Assembly
from api.mechanics.whole.one_core import one_core
from api.mechanics.whole.run import COARSE_M, FINE_M, again, coarser, solve
from api.use_cases.analysis import analyse
from api.use_cases.analysis.ground import ground_of
from api.use_cases.analysis.problem import assembly_of
from tests.bench.designs import Rest, design_of
from tests.mechanics import solid_cases as solids

CLAMPS = (4, 8, 16, 24, 40, 60)
SHARES = (0.3, 0.7, 1.0)
SPACINGS_M = (0.05, 0.025, 0.0125)
REMEDIES = "findings and remedies"
AIM_S = 2.0
Answer = TypeVar("Answer")


@dataclass(frozen=True)
class Timed:
    """Least processor time and least time on the clock of some repeats, seconds."""

    processor_s: float
    clock_s: float


@dataclass(frozen=True)
class Check:
    """A whole check: all of it, and what came before its findings and remedies."""

    whole: Timed
    before_remedies_s: float


def timed(work: Callable[[], Answer], repeat: int) -> tuple[Timed, Answer]:
    spent = []
    for _ in range(repeat):
        clock, processor = time.perf_counter(), time.process_time()
        answer = work()
        spent.append((time.process_time() - processor, time.perf_counter() - clock))
    return Timed(*(min(column) for column in zip(*spent, strict=True))), answer


def check(count: int, rest: Rest, repeat: int) -> Check:
    design, stores, findings = design_of(count, rest)
    before: list[float] = []

    def run() -> None:
        start = time.process_time()

        def told(doing: str, _: float) -> None:
            if doing == REMEDIES:
                before.append(time.process_time() - start)

        analyse(design, stores, findings, told)

    return Check(timed(run, repeat)[0], min(before))


def whole_check(repeat: int) -> None:
    assembly = assembly_for(24, "pads")
    factor = general_factor_s(solver_of(assembly.shape, FINE_M), repeat)
    print(f"one general sparse factorisation of the same grid: {ms(factor)}")
    for rest in ("pads", "flat"):
        found = check(24, rest, repeat)
        print(
            f"24 clamps, rest {rest:5} processor {ms(found.whole.processor_s)}, on the clock "
            f"{ms(found.whole.clock_s)}, before remedies {ms(found.before_remedies_s)}: "
            f"{found.whole.processor_s / factor:.0f} factorisations; aim {ms(AIM_S)}"
        )


def clamps(repeat: int) -> None:
    print("\nclamps   whole check   before remedies   per clamp   power since the row above")
    last: tuple[int, float] | None = None
    for count in CLAMPS:
        found = check(count, "pads", repeat)
        spent = found.before_remedies_s
        power = "" if last is None else f"{np.log(spent / last[1]) / np.log(count / last[0]):26.2f}"
        print(
            f"{count:6}   {ms(found.whole.processor_s):>11}   {ms(spent):>15}   "
            f"{ms(spent / count):>9}{power}"
        )
        last = count, spent


def grids(repeat: int) -> None:
    assembly = assembly_for(24, "pads")
    order = tuple(range(len(assembly.jacks)))
    print(
        "\nspacing   unknowns   solved   factor by lines   general factor   ratio   heights move by"
    )
    finest = solve(assembly, SHARES, order, SPACINGS_M[-1] / 2)
    for spacing_m in SPACINGS_M:
        whole, found = timed(partial(solve, assembly, SHARES, order, spacing_m), repeat)
        solver = solver_of(assembly.shape, spacing_m)
        by_lines, general = line_factor_s(solver, repeat), general_factor_s(solver, repeat)
        off = max(
            float(np.abs(found.heights_m[pose] - finest.heights_m[pose]).max())
            for pose in found.heights_m
        )
        size = max(float(np.abs(height).max()) for height in finest.heights_m.values())
        print(
            f"{spacing_m * 1e3:4.1f} mm   {solver.bending.N:8}   {ms(whole.processor_s):>6}   "
            f"{ms(by_lines):>15}   {ms(general):>14}   {general / by_lines:5.1f}   {off / size:14.2%}"
        )


def changes(repeat: int) -> None:
    """What trying one change costs, as remedies and bands do."""
    print("\none change on the coarse grid, 24 clamps")
    for rest in ("pads", "flat"):
        assembly = assembly_for(24, rest)
        near = coarser(solve(assembly, SHARES, tuple(range(24))))
        pads, told = assembly.receivers, []
        jacks = tuple(replace(jack, torque_nm=jack.torque_nm * 0.8) for jack in assembly.jacks)
        shape = replace(assembly.shape, thickness_m=0.030)
        moved = tuple(x_m - 0.01 for x_m in pads.x_m)
        for name, changed in (
            ("torque", replace(assembly, jacks=jacks)),
            ("receivers", replace(assembly, receivers=replace(pads, x_m=moved))),
            ("locked", replace(assembly, tightened_locked=True)),
            ("thickness", replace(assembly, shape=shape)),
        ):
            spent, _ = timed(partial(again, near, changed), repeat)
            told.append(f"{name} {ms(spent.processor_s)}")
        print(f"rest {rest:5} " + ", ".join(told))


def solid_models(repeat: int) -> None:
    """Largest error of the free bow against solid models, of the largest bow, beside the time taken."""
    print("\nsolid model of                " + "".join(f"{s * 1e3:12.1f} mm" for s in SPACINGS_M))
    for name in solids.NAMES:
        case = solids.solid(name)
        bow_m = float(np.abs(case.found_m["free"]).max()) or 1.0
        told = []
        for spacing_m in SPACINGS_M:
            spent, found_m = timed(partial(solids.free_m, case, spacing_m), repeat)
            off = float(np.abs(found_m - case.found_m["free"]).max()) / bow_m
            told.append(f"{off:6.1%} {ms(spent.processor_s):>7} ")
        print(f"{name:28}  " + "".join(told))


def assembly_for(count: int, rest: Rest) -> Assembly:
    design, stores, _ = design_of(count, rest)
    return assembly_of(ground_of(design, stores))


def general_factor_s(solver: PlateSolver, repeat: int) -> float:
    """Of the bending stiffness, with three corners held, by a general sparse factorisation."""
    nodes, p = solver.bending.nodal_dofs, solver.bending.mesh.p
    corners = [int(np.argmin(np.hypot(*(p.T - p.max(axis=1) * at).T))) for at in np.eye(3)[:, :2]]
    free = np.setdiff1d(np.arange(solver.bending.N), nodes[0, corners])
    matrix = csc_array(solver.stiffness[free][:, free])
    spent, _ = timed(
        lambda: splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0), repeat
    )
    return spent.processor_s


def line_factor_s(solver: PlateSolver, repeat: int) -> float:
    load = np.zeros((solver.bending.N, 1))
    first, _ = timed(lambda: replace(solver).deflections(load), repeat)
    return first.processor_s


def ms(seconds: float) -> str:
    return f"{seconds * 1e3:.0f} ms" if seconds >= 0.1 else f"{seconds * 1e3:.3g} ms"


def main() -> None:
    words = argparse.ArgumentParser(prog="python -m tests.bench.check", description=__doc__)
    words.add_argument("--repeat", type=int, default=3)
    repeat = words.parse_args().repeat
    with one_core():
        whole_check(repeat)
        clamps(repeat)
        grids(repeat)
        changes(repeat)
        solid_models(repeat)
    print(f"\ngrid of a check: {FINE_M * 1e3:g} mm; of what is tried on it: {COARSE_M * 1e3:g} mm")


if __name__ == "__main__":
    main()
