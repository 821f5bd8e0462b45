"""The small numbers from which forces and heights after each pull follow, without the plate."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from api.mechanics.whole.planning import point_samples
from api.mechanics.whole.run import Solved
from api.mechanics.whole.tightening import targets_n

Array = npt.NDArray[np.float64]
FARTHEST_SCALE = 2.0


@dataclass(frozen=True)
class Guidance:
    """Flexibility (m, m) and bow at points (k, m) per newton in each link, heights (k,) at touch."""

    target_n: Array
    presses: Array
    flexibility_m_per_n: Array
    bow_m_per_n: Array
    start_m: Array


def guidance(found: Solved) -> Guidance:
    """In the state in which the plate is tightened.

    The answer of a plate on one-sided rests is a little curved, so the bow per newton is the mean slope
    from touch to the end of the passes, as long as that is within a factor 2 of the slope there.
    """
    bed, at = found.tightened.bed, point_samples(found.response, found.assembly)
    end = found.tightened.locked if found.assembly.tightened_locked else found.tightened.free
    start, slope = np.asarray(at @ bed.snug.field), np.asarray(at @ bed.fields)
    linear, true = slope @ end.link_n, np.asarray(at @ end.field) - start
    scale = np.divide(true, linear, out=np.ones_like(true), where=np.abs(linear) > 1e-9)
    usable = (scale > 1 / FARTHEST_SCALE) & (scale < FARTHEST_SCALE)
    return Guidance(
        targets_n(found.assembly),
        bed.interaction.presses,
        bed.interaction.compliance_m_per_n,
        slope * np.where(usable, scale, 1.0)[:, None],
        start,
    )
