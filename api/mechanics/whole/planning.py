"""Which order, and how many passes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from api.mechanics.sequence.judging import Bench, Layout, Verdicts
from api.mechanics.sequence.order import Found, best_order, fewest_passes
from api.mechanics.sequence.routes import row_by_row
from api.mechanics.whole.assembly import Assembly
from api.mechanics.whole.response import Response
from api.mechanics.whole.tightening import Bed, targets_n

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Plan:
    """`least_share` is what the worst jack keeps of its target after the last pass, of this order and
    of row by row; `bow_m` the largest height change at any point on the way."""

    order: tuple[int, ...]
    shares: tuple[float, ...]
    least_share: float
    rows_least_share: float
    bow_m: float
    rows_bow_m: float
    travel_m: float
    rows_travel_m: float
    searched: bool
    exact: bool

    @property
    def pulls(self) -> int:
        return len(self.order) * len(self.shares)


def plan_of(
    it: Response,
    assembly: Assembly,
    bed: Bed,
    shares: Sequence[float] | None,
    order: Sequence[int] | None,
) -> Plan:
    """A given order and given shares are kept; what is None is searched."""
    target, layout = targets_n(assembly), layout_of(it, assembly, bed)
    if order is None:
        found = (
            fewest_passes(bed.interaction, target, layout).found
            if shares is None
            else best_order(bed.interaction, target, np.array(shares), layout)
        )
        return _searched(found)
    steps = np.array((0.3, 0.7, 1.0) if shares is None else shares)
    bench = Bench(bed.interaction, target, steps, layout)
    tried = np.array([list(order), row_by_row(layout.positions_m)])
    return _given(bench.judge(tried), tuple(order), tuple(steps.tolist()))


def layout_of(it: Response, assembly: Assembly, bed: Bed) -> Layout:
    positions = np.array([(jack.x_m, jack.y_m) for jack in assembly.jacks])
    return Layout(positions, point_samples(it, assembly) @ bed.fields)


def point_samples(it: Response, assembly: Assembly) -> Array:
    """Heights at the points per unknown of the plate, (k, unknowns)."""
    x_m, y_m = np.array(assembly.points, dtype=np.float64).reshape(-1, 2).T
    return np.asarray(it.on.solver.samples(x_m, y_m).value.toarray())


def _searched(found: Found) -> Plan:
    return Plan(
        tuple(int(jack) for jack in found.order),
        tuple(float(share) for share in found.shares),
        found.effect.least_share,
        found.rows.least_share,
        found.effect.worst_bow_m,
        found.rows.worst_bow_m,
        found.effect.travel_m,
        found.rows.travel_m,
        searched=True,
        exact=found.exact,
    )


def _given(verdicts: Verdicts, order: tuple[int, ...], shares: tuple[float, ...]) -> Plan:
    least, bow, travel = verdicts.least_share, verdicts.worst_bow_m, verdicts.travel_m
    return Plan(
        order,
        shares,
        float(least[0]),
        float(least[1]),
        float(bow[0]),
        float(bow[1]),
        float(travel[0]),
        float(travel[1]),
        searched=False,
        exact=False,
    )
