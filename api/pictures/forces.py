"""The force in every clamp after each pass and after lock-down, beside what its torque asks for."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from api.domain.analyses.result import ClampResult, Result
from api.pictures import chart
from api.pictures.chart import Axis
from api.pictures.words import counted, kn, share, trimmed

LEFT, RIGHT = 46.0, 8.0
TOP, PLOT, BELOW = 40.0, 156.0, 46.0
WIDEST, NARROWEST_STEP = 118.0, 13.0
HEADROOM = 1.24


@dataclass(frozen=True)
class Place:
    """Where a clamp's marks stand: one for each pass and one for the locked plate."""

    left: float
    width: float
    count: int

    def at(self, number: int) -> float:
        inner = self.width - 22
        return self.left + 11 + (inner * (number + 0.5) / self.count)


def forces(result: Result) -> str:
    """Dots: after each pass; a square: after lock-down; rust dashes: what was asked for."""
    names = [name for name in result.order if name in result.clamps]
    names += [name for name in result.clamps if name not in names]
    rows = _rows(names, len(result.passes) + 1)
    top = max(_most(result.clamps[name]) for name in names) / 1e3
    content = [
        part
        for number, row in enumerate(rows)
        for part in _row(result, row, number * (TOP + PLOT + BELOW), top, len(rows[0]))
    ]
    title = f"Force in each clamp of {result.design} revision {result.revision} after each pass"
    height = len(rows) * (TOP + PLOT + BELOW)
    return chart.picture("forces", height, title, _told(result, names), content)


def _rows(names: list[str], marks: int) -> list[list[str]]:
    """The clamps in rows of equal length, each clamp wide enough for its marks."""
    room = chart.WIDTH - LEFT - RIGHT
    fitting = max(1, math.floor(room / (marks * NARROWEST_STEP + 22)))
    length = math.ceil(len(names) / math.ceil(len(names) / fitting))
    return [names[start : start + length] for start in range(0, len(names), length)]


def _most(clamp: ClampResult) -> float:
    return max(clamp.side_n.usual, clamp.after_lock_n, *clamp.after_pass_n) * HEADROOM


def _row(result: Result, names: list[str], down: float, top: float, length: int) -> Iterator[str]:
    axis = Axis(0.0, top, down + TOP + PLOT, down + TOP)
    width = min(WIDEST, (chart.WIDTH - LEFT - RIGHT) / length)
    end = LEFT + width * len(names)
    for tick in axis.ticks(5):
        css = "zero" if tick == 0 else "grid"
        yield chart.line(css, LEFT, axis.at(tick), end, axis.at(tick))
        yield chart.text("end", LEFT - 6, axis.at(tick) + 4, trimmed(tick, 1))
    yield chart.text("end", LEFT - 6, down + TOP - 12, "kN")
    for number, name in enumerate(names):
        place = Place(LEFT + number * width, width, len(result.passes) + 1)
        yield from _clamp(result, name, place, axis)


def _clamp(result: Result, name: str, place: Place, axis: Axis) -> Iterator[str]:
    clamp = result.clamps[name]
    half = min(9.0, 0.42 * (place.at(1) - place.at(0)))
    asked = [*(part * clamp.side_n.usual for part in result.passes), clamp.side_n.usual]
    for number, force in enumerate(asked):
        y = axis.at(force / 1e3)
        yield chart.line("asked", place.at(number) - half, y, place.at(number) + half, y)
    ends = [axis.at(force / 1e3) for force in (*clamp.after_pass_n, clamp.after_lock_n)]
    spots = [(place.at(number), y) for number, y in enumerate(ends)]
    yield chart.trace("trace", spots)
    yield "".join(chart.dot("dot", x, y) for x, y in spots[:-1])
    yield chart.square("locked", *spots[-1])
    foot = axis.start
    for number, (x, _) in enumerate(spots):
        last = number == len(spots) - 1
        yield chart.text("mid small", x, foot + 14, "L" if last else str(number + 1))
    middle = place.left + place.width / 2
    yield chart.text("mid name", middle, foot + 31, name)
    head = min(*(y for _, y in spots), *(axis.at(force / 1e3) for force in asked)) - 9
    kept = clamp.after_lock_n / clamp.side_n.usual if clamp.side_n.usual else 0.0
    yield chart.text("mid value", middle, head - 14, kn(clamp.after_lock_n))
    yield chart.text("mid value", middle, head, share(kept))


def _told(result: Result, names: list[str]) -> str:
    ends = [
        f"{name} {kn(result.clamps[name].after_lock_n)} of {kn(result.clamps[name].side_n.usual)} kN"
        for name in names
    ]
    return (
        f"After {counted(len(result.passes), 'pass', 'passes')} and lock-down: {'; '.join(ends)}."
    )
