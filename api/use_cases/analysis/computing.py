"""Everything that is computed of one design, in the order in which it is needed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from api.domain.designs.document import Design
from api.mechanics.grip.facets import Holdable
from api.mechanics.sequence.passes import recheck
from api.mechanics.whole.holding import Held, Piece, contacts_of, tightest
from api.mechanics.whole.run import (
    Accuracy,
    Bands,
    Pose,
    Solved,
    accuracy,
    bands,
    coarser,
    solve,
)
from api.mechanics.whole.tightening import targets_n
from api.use_cases.analysis.figures import POSE_OF
from api.use_cases.analysis.ground import Ground
from api.use_cases.analysis.pieces import piece_of, tools_of
from api.use_cases.analysis.problem import assembly_of

Progress = Callable[[str, float], None]


@dataclass(frozen=True)
class Computed:
    """`coarse` is the same on a coarse grid, for trying changes; `holds` follows the
    stations; `movers` is how many screws would turn in a re-check pass."""

    ground: Ground
    found: Solved
    coarse: Solved
    bands: Bands
    accuracy: Accuracy
    holds: list[Held | None]
    movers: int


def compute(ground: Ground, progress: Progress) -> Computed:
    """Raises ValueError with what to change where the design cannot work as a structure."""
    design = ground.design
    progress("plate and contact", 0.05)
    assembly = assembly_of(ground)
    found = solve(assembly, shares_of(design), order_of(design))
    progress("coarser grid", 0.35)
    coarse = coarser(found)
    progress("bands", 0.45)
    between = bands(found, coarse, readings_of(design))
    progress("grip", 0.7)
    holds = holds_of(ground, [float(force) for force in between.least_link_n])
    return Computed(
        ground, found, coarse, between, accuracy(found, coarse), holds, movers_of(found)
    )


def movers_of(found: Solved) -> int:
    """Before lock-down, in the state in which the plate is tightened."""
    run = found.tightened.run
    again = recheck(
        found.tightened.bed.interaction, targets_n(found.assembly), run.order, run.spread_m
    )
    return int(again.would_move[0].sum())


def shares_of(design: Design) -> Sequence[float] | None:
    """The file's passes; None where it leaves them to be found."""
    given = design.document.get("tightening", {}).get("passes")
    return None if given is None else design.tightening.passes


def order_of(design: Design) -> Sequence[int] | None:
    """The file's order as numbers; None for "auto"."""
    names = [clamp.id for clamp in design.clamps]
    given = design.tightening.order
    return None if given is None else [names.index(name) for name in given]


def readings_of(design: Design) -> tuple[tuple[Pose, Pose], ...]:
    return tuple((POSE_OF[point.zero], POSE_OF[point.read]) for point in design.points)


def holds_of(ground: Ground, side_n: Sequence[float]) -> list[Held | None]:
    """Pieces alike share what does not depend on their force."""
    known: dict[Piece, Holdable] = {}
    held: list[Held | None] = []
    for station, force in zip(ground.design.stations, side_n, strict=True):
        tools = tools_of(ground, station)
        if not tools:
            held.append(None)
            continue
        piece = piece_of(ground, station)
        if piece not in known:
            known[piece] = contacts_of(piece)
        held.append(tightest(known[piece], piece, force, tools))
    return held
