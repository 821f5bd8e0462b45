"""Changes to a design that are tried by computing them, the cheapest kind first."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from api.mechanics.whole.assembly import Assembly
from api.mechanics.whole.run import Solved, again
from api.mechanics.whole.sites import Seat, seats
from api.use_cases.analysis.computing import Computed

TORQUE_SHARES = (0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3)
SPREADS = (0.65, 0.85, 1.0, 1.15, 1.35)
THICKER = (1.2, 1.4, 1.6, 2.0)
ROUND_M = 0.005

Measure = Callable[[Solved], float]


@dataclass(frozen=True)
class Trial:
    """A change in words, what it was computed to give, and what it costs in grip (1: nothing)."""

    words: str
    found: Solved
    force_share: float = 1.0


class Trials:
    """Each kind is computed once, when it is first asked for; on the coarse grid."""

    def __init__(self, done: Computed) -> None:
        self.done = done
        self.assembly = done.coarse.assembly
        self._seats: dict[int, list[Seat]] = {}

    def seats_of(self, found: Solved) -> list[Seat]:
        """How the parts sit in a trial; asked for again and again."""
        if id(found) not in self._seats:
            solver, field = found.response.on.solver, found.poses["pressed pulled"].field
            self._seats[id(found)] = seats(solver, found.assembly.sites, field)
        return self._seats[id(found)]

    def first(self, enough: Callable[[Trial], bool]) -> list[Trial]:
        """Of every kind the smallest change that is enough, the cheapest kind first."""
        return [
            trial
            for kind in (self.locked, self.torques, self.receivers, self.plates)
            if (trial := next((each for each in kind if enough(each)), None)) is not None
        ]

    @cached_property
    def locked(self) -> list[Trial]:
        if self.assembly.tightened_locked:
            return []
        tried = self._try(replace(self.assembly, tightened_locked=True))
        return [] if tried is None else [Trial("tighten with the plate locked", tried)]

    @cached_property
    def torques(self) -> list[Trial]:
        found = []
        for share in TORQUE_SHARES:
            jacks = tuple(
                replace(jack, torque_nm=jack.torque_nm * share) for jack in self.assembly.jacks
            )
            tried = self._try(replace(self.assembly, jacks=jacks))
            if tried is not None:
                most = max(jack.torque_nm for jack in jacks)
                words = f"lower the torque to {100 * share:.0f} % ({most:.3g} N·m)"
                found.append(Trial(words, tried, share))
        return found

    @cached_property
    def receivers(self) -> list[Trial]:
        """Moved in and out about their middle, in steps of 5 mm, where they stay under the plate."""
        found = []
        for x_m, y_m in self._places():
            pads = replace(self.assembly.receivers, x_m=x_m, y_m=y_m)
            tried = self._try(replace(self.assembly, receivers=pads))
            if tried is not None:
                at = f"{1e3 * min(x_m):.0f}/{1e3 * min(y_m):.0f}"
                far = f"{1e3 * max(x_m):.0f}/{1e3 * max(y_m):.0f}"
                found.append(Trial(f"move the receivers to {at} and {far} mm", tried))
        return found

    @cached_property
    def plates(self) -> list[Trial]:
        found = []
        for factor in THICKER:
            thickness = round(self.assembly.shape.thickness_m * factor / 1e-3) * 1e-3
            shape = replace(self.assembly.shape, thickness_m=thickness)
            tried = self._try(replace(self.assembly, shape=shape))
            if tried is not None:
                found.append(Trial(f"a plate {thickness * 1e3:.0f} mm thick", tried))
        return found

    def best_receivers(self, measure: Measure) -> Trial | None:
        """The places that leave least, if they leave clearly less than now."""
        best = min(self.receivers, key=lambda trial: measure(trial.found), default=None)
        if best is None or measure(best.found) > 0.8 * measure(self.done.coarse):
            return None
        return best

    def _places(self) -> Iterator[tuple[tuple[float, ...], tuple[float, ...]]]:
        pads, shape = self.assembly.receivers, self.assembly.shape
        for along in SPREADS:
            for across in SPREADS:
                x_m, y_m = _spread(pads.x_m, along), _spread(pads.y_m, across)
                under = _inside(x_m, pads.outer_m, shape.length_m) and _inside(
                    y_m, pads.outer_m, shape.width_m
                )
                if under and (x_m, y_m) != (pads.x_m, pads.y_m):
                    yield x_m, y_m

    def _try(self, assembly: Assembly) -> Solved | None:
        """None where the changed design cannot rest or hold."""
        try:
            return again(self.done.coarse, assembly)
        except ValueError:
            return None


def _spread(at_m: Sequence[float], factor: float) -> tuple[float, ...]:
    middle = (min(at_m) + max(at_m)) / 2
    if factor == 1.0:
        return tuple(at_m)
    return tuple(round((middle + (at - middle) * factor) / ROUND_M) * ROUND_M for at in at_m)


def _inside(at_m: Sequence[float], radius_m: float, extent_m: float) -> bool:
    return min(at_m) >= radius_m and max(at_m) <= extent_m - radius_m
