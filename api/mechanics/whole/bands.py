"""Bands by Monte Carlo: how far forces and heights may lie from their usual values.

JCGM 101: draw every uncertain input from its distribution, run the computation for each draw, and
take the 2.5 % and 97.5 % points. Friction of jacks that share a grease is one draw, that of jaws on
the plate another, and what they share in make a third; the draws are seeded, so the same inputs give
the same bands.

Every input is drawn once from each of as many equally likely strata as there are draws (Latin
hypercube; McKay, Beckman and Conover 1979). With 500 such draws the ends of a band scatter by some
1 to 2 % of their value from seed to seed, as they do with 1000 draws without strata.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.special import ndtri

from api.mechanics.sequence.passes import after_change_batch, run_batch
from api.mechanics.side_force.cone import Cone
from api.mechanics.side_force.forces import Frictions, Spreader
from api.mechanics.side_force.twin import Twin
from api.mechanics.side_force.wedge import Wedge
from api.mechanics.whole.assembly import Assembly, Friction, Jack
from api.mechanics.whole.tightening import Tightened, side_force

Array = npt.NDArray[np.float64]
DRAWS, SEED = 500, 20260101
MOST_FRICTION = 0.6
Z_95 = 1.959964
ANGLE_RAD = np.radians(0.25)  # rectangular, half-width
RADIUS_SHARE = 0.02  # rectangular, half-width
HAND_SHARE = 0.03  # standard deviation, how a person pulls
PLATE_SHARE = 0.03  # standard deviation, modulus, thickness and the model itself
OWN_SHARE = 0.20  # standard deviation, stiffness of clamps with their parts
PULL_SHARE = 0.10  # rectangular, half-width
BAR_SHARES = (0.25, 0.75)  # rectangular, where the share of the bars is only assumed
ASSUMED_IN_BANDS = (
    "Bands: friction of one grease is one log-normal value for all its clamps, within its low and high"
    " values in 95 % of cases; the wrench is within its class; a pull by hand varies by 3 % (standard"
    " deviation), wedge angles by 0.25 deg and cone radii by 2 % either way, the plate and its model by"
    " 3 %, clamps with their parts by 20 % (standard deviations), the pull of the studs by 10 % either way."
)


@dataclass(frozen=True)
class Spread:
    """Low, usual and high value of something, arrays alike."""

    low: Array
    usual: Array
    high: Array


@dataclass(frozen=True)
class Draws:
    """Side forces (d, n), screw tensions (d, n; NaN where not modelled), and shared factors (d,).

    `plate` multiplies every deflection of the plate, `own` the compliance of
    jacks and links; `pull` and `bars` run from -1 to 1 over the range of what they stand for.
    """

    side_n: Array
    screw_n: Array
    plate: Array
    own: Array
    pull: Array
    bars: Array


def interval(draws: Array, usual: Array) -> Spread:
    """95 % interval over the first axis, about the value at usual inputs."""
    low, high = np.quantile(draws, [0.025, 0.975], axis=0)
    return Spread(np.minimum(low, usual), usual, np.maximum(high, usual))


def pooled(draws: Array, usual: Array, alike: npt.NDArray[np.int64]) -> Spread:
    """`interval` for columns (n,) that are drawn from one distribution where `alike` is the same."""
    edges = np.empty((2, len(usual)))
    for group in np.unique(alike):
        edges[:, alike == group] = np.quantile(draws[:, alike == group], [0.025, 0.975])[:, None]
    return Spread(np.minimum(edges[0], usual), usual, np.maximum(edges[1], usual))


def alike(jacks: Sequence[Jack]) -> npt.NDArray[np.int64]:
    """The same number for jacks of one kind, grease and torque, (n,)."""
    made = [(jack.kind, jack.grease, jack.torque_nm) for jack in jacks]
    return np.array([made.index(one) for one in made])


class Strata:
    """Values of which each comes from a stratum of its own, in random order."""

    def __init__(self, seed: int, count: int) -> None:
        self._random, self._count = np.random.default_rng(seed), count

    def normal(self, mean: float, sigma: float) -> Array:
        return np.asarray(mean + sigma * ndtri(self._shares()))

    def either_way(self) -> Array:
        """Evenly from -1 to 1."""
        return 2 * self._shares() - 1

    def _shares(self) -> Array:
        places = self._random.permutation(self._count) + self._random.random(self._count)
        return np.asarray(places / self._count)


def draw(assembly: Assembly, count: int = DRAWS, seed: int = SEED) -> Draws:
    random = Strata(seed, count)
    base = _friction(random, assembly.jacks[0].base)
    frictions = _by(assembly.jacks, "grease", lambda jack: _friction(random, jack.friction))
    angles = _by(
        assembly.jacks, "kind", lambda _: np.array([random.either_way(), random.either_way()])
    )
    tool = random.either_way()
    side, screw = [], []
    for jack in assembly.jacks:
        hand = random.normal(0, HAND_SHARE)
        torque = jack.torque_nm * (1 + tool * jack.tool_share) * (1 + hand)
        forces = _varied(jack, angles[jack.kind]).side_force(
            torque, Frictions.same(frictions[jack.grease], base)
        )
        noise = np.exp(random.normal(0, jack.scatter or 0.0))
        side.append(np.broadcast_to(forces.side_n, count) * noise)
        nothing = np.full(count, np.nan)
        screw.append(nothing if forces.screw_n is None else np.broadcast_to(forces.screw_n, count))
    return Draws(
        np.array(side).T,
        np.array(screw).T,
        np.maximum(random.normal(1, PLATE_SHARE), 0.5),
        np.maximum(random.normal(1, OWN_SHARE), 0.3),
        random.either_way(),
        random.either_way(),
    )


def link_draws(done: Tightened, drawn: Draws) -> tuple[Array, Array]:
    """Forces in the links after the passes and when pulled down, (d, m) each."""
    scale = drawn.plate / drawn.own
    runs = run_batch(
        done.bed.interaction, drawn.side_n, done.run.shares, done.run.order, scale=scale
    )
    locked = done.locked_bed.interaction
    return runs.link_n[:, -1], after_change_batch(locked, runs.spread_m, scale)


def screw_band(assembly: Assembly, drawn: Draws) -> Spread:
    """Tension of the screws; NaN for a jack whose force is measured."""
    usual = [side_force(jack, jack.friction.usual).screw_n for jack in assembly.jacks]
    return interval(
        drawn.screw_n, np.array([np.nan if force is None else float(force) for force in usual])
    )


def log_sigma(friction: Friction) -> float:
    """Standard deviation of ln mu when low and high are its 2.5 % and 97.5 % points."""
    return float(np.log(friction.high / friction.low) / (2 * Z_95))


def _friction(random: Strata, friction: Friction) -> Array:
    drawn = friction.usual * np.exp(random.normal(0, log_sigma(friction)))
    return np.minimum(drawn, MOST_FRICTION)


def _varied(jack: Jack, wiggle: Array) -> Spreader:
    """The same spreader with its angle, and a cone's radius, off by what making allows."""
    spreader = jack.spreader
    if isinstance(spreader, Cone):
        return replace(
            spreader,
            angle_rad=spreader.angle_rad + ANGLE_RAD * wiggle[0],
            radius_m=spreader.radius_m * (1 + RADIUS_SHARE * wiggle[1]),
        )
    if isinstance(spreader, Wedge | Twin):
        return replace(spreader, angle_rad=spreader.angle_rad + ANGLE_RAD * wiggle[0])
    return spreader


def _by(jacks: Sequence[Jack], name: str, make: Callable[[Jack], Array]) -> dict[int, Array]:
    """One draw for each group of jacks, in the order in which the groups appear."""
    found: dict[int, Array] = {}
    for jack in jacks:
        group: int = getattr(jack, name)
        if group not in found:
            found[group] = make(jack)
    return found
