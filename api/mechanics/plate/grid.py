"""Grid lines of the rectangles a plate is divided into."""

from __future__ import annotations

import itertools
from collections.abc import Iterable

import numpy as np
import numpy.typing as npt
from skfem import MeshQuad1

from api.mechanics.plate.shape import PlateShape, Rectangle

Array = npt.NDArray[np.float64]
SAME_LINE_M = 2e-4


def grid_of(shape: PlateShape, spacing_m: float) -> MeshQuad1:
    """Rectangles no longer than `spacing_m`, with lines along every pocket and every bar.

    Bogner-Fox-Schmit rectangles converge so fast that 25 mm is fine enough for plates of a few
    hundred millimetres: halving it changes the bow by less than 0.3 %.
    """
    areas = [pocket.area for pocket in shape.pockets] + [bar.area for bar in shape.bars]
    x_m = lines(shape.length_m, _edges(areas, along=True), spacing_m)
    y_m = lines(shape.width_m, _edges(areas, along=False), spacing_m)
    return MeshQuad1.init_tensor(x_m, y_m)


def lines(extent_m: float, through_m: Iterable[float], spacing_m: float) -> Array:
    """Grid lines from 0 to `extent_m` through given places; closer than 0.2 mm they are one."""
    kept = [0.0]
    for at_m in sorted(through_m):
        if kept[-1] + SAME_LINE_M < at_m < extent_m - SAME_LINE_M:
            kept.append(at_m)
    kept.append(extent_m)
    pieces = [
        np.linspace(start, end, max(1, int(np.ceil((end - start) / spacing_m - 1e-9))) + 1)[1:]
        for start, end in itertools.pairwise(kept)
    ]
    return np.concatenate([[0.0], *pieces])


def _edges(areas: list[Rectangle], *, along: bool) -> list[float]:
    if along:
        return [at for area in areas for at in (area.x0_m, area.x1_m)]
    return [at for area in areas for at in (area.y0_m, area.y1_m)]
