"""The true peak of the sum of all teeth while the cutter turns."""

from dataclasses import dataclass
from math import ceil, pi, sin, tan

import numpy as np
import numpy.typing as npt

from api.mechanics.cutting.kienzle import chip_force_n, chip_width_m, runout_feed_factor
from api.mechanics.cutting.mills import Arc, MillCut, arc_of
from api.mechanics.cutting.power_integrals import sine_power_cosine_integral, sine_power_integral

Array = npt.NDArray[np.float64]

ANGLES_PER_PITCH = 720
JUST_BEFORE_RAD = 1e-9  # a leaving tooth is full until it leaves
SAME_ANGLE_RAD = 1e-12
LEAST_LAG_RAD = 1e-4  # below it a tooth counts as straight: differences of integrals lose digits


@dataclass(frozen=True)
class ToothSum:
    """Largest sums over one turn: tangential_n adds sizes (torque), resultant_n adds vectors."""

    tangential_n: float
    resultant_n: float


def tooth_sum(cut: MillCut, radial_share: float = 0.0) -> ToothSum:
    """Peak of the tooth sum over one turn of the cutter, N.

    Each tooth carries F(φ) = b kc1.1 K (fz sin κ sin φ)^(1-mc) along its motion and
    radial_share of it outward. With a helix β the slice at height z lags by 2 z tan β / D
    and F is the integral over the slices in the arc, taken exactly:
    F(θ) = b kc1.1 K (fz sin κ)^(1-mc) / lag * ∫ sin^(1-mc) over the lagging window inside the arc.
    An unknown helix counts as none: the peak is then the larger one.
    Runout e multiplies the chip of one tooth by 1 + e/fz and leaves the others.
    Derived; checked by summing slices.
    """
    arc, lag = arc_of(cut), lag_rad(cut)
    pitch = 2 * pi / cut.teeth
    passing = ceil((arc.exit_rad + lag) / pitch) + 1
    turn = _turns(arc, lag, pitch)
    tips = turn[None, :] + pitch * np.arange(passing)[:, None]
    shares = _tooth_shares(cut, arc, lag, tips)
    sums = [np.einsum("j,cjt->ct", weights, shares) for weights in _weights(cut, passing)]
    size = max(float(part[0].max()) for part in sums)
    vector = max(float(np.hypot(part[1], part[2]).max()) for part in sums)
    full = chip_force_n(
        chip_width_m(cut), cut.feed_m * sin(cut.lead_rad), cut.kc11_pa, cut.mc, cut.worn
    )
    return ToothSum(full * size, full * vector * float(np.hypot(1.0, radial_share)))


def lag_rad(cut: MillCut) -> float:
    """How far the top of a tooth lags behind its tip: 2 ap tan β / D, rad; 0 if negligible."""
    lag = 2 * cut.depth_m * tan(cut.helix_rad or 0.0) / cut.diameter_m
    return lag if lag > LEAST_LAG_RAD else 0.0


def _turns(arc: Arc, lag: float, pitch: float) -> Array:
    """Cutter angles of one pitch: an even grid, and each angle where the sum can have a corner."""
    corners = np.array([arc.entry_rad, arc.exit_rad, arc.entry_rad + lag, arc.exit_rad + lag])
    grid = np.linspace(0, pitch, ANGLES_PER_PITCH, endpoint=False)
    return np.unique(np.concatenate([grid, corners % pitch, (corners - JUST_BEFORE_RAD) % pitch]))


def _weights(cut: MillCut, passing: int) -> list[Array]:
    """Force of each passing tooth relative to a true-running one, for each first tooth."""
    if not cut.runout_m:
        return [np.ones(passing)]
    teeth = np.ones(cut.teeth)
    teeth[0] = runout_feed_factor(cut.runout_m, cut.feed_m) ** (1 - cut.mc)
    return [teeth[(np.arange(passing) + first) % cut.teeth] for first in range(cut.teeth)]


def _tooth_shares(cut: MillCut, arc: Arc, lag: float, tips: Array) -> Array:
    """Tangential force, its cosine and its sine part at each tip angle: shape (3, *tips.shape).

    In units of the force on a chip fz sin κ thick over the full edge.
    """
    power = 1 - cut.mc
    if not lag:
        inside = (tips >= arc.entry_rad - SAME_ANGLE_RAD) & (tips < arc.exit_rad - SAME_ANGLE_RAD)
        angle = np.where(inside, np.clip(tips, 0, pi), 0.0)
        force = np.where(inside, np.sin(angle) ** power, 0.0)
        return np.stack([force, force * np.cos(angle), force * np.sin(angle)])
    start = np.clip(tips - lag, arc.entry_rad, arc.exit_rad)
    end = np.clip(tips, arc.entry_rad, arc.exit_rad)
    sizes = sine_power_integral(power, end) - sine_power_integral(power, start)
    cosines = sine_power_cosine_integral(power, end) - sine_power_cosine_integral(power, start)
    sines = sine_power_integral(power + 1, end) - sine_power_integral(power + 1, start)
    return np.stack([sizes, cosines, sines]) / lag
