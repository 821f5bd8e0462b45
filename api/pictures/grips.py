"""How many times the cutting load is held at each station, by how the part would move first."""

from __future__ import annotations

from collections.abc import Iterator

from api.domain.analyses.result import Result, StationResult
from api.pictures import chart
from api.pictures.chart import Axis
from api.pictures.words import multiple

LEFT, END = 74.0, 540.0
TOP, ROW = 44.0, 28.0
HELD, ADVISED = 1.0, 2.0
LEAST_SCALE, MOST_SCALE = 3.0, 6.0
MODES = {"slip": chart.dot, "lift": chart.triangle, "tip": chart.square}
WORD = 42.0


def grips(result: Result) -> str:
    """A bar to the smallest margin; a dot for slip, a triangle for lift, a square for tip."""
    count = len(result.stations)
    known = [
        margin for station in result.stations.values() if (margin := least(station)) is not None
    ]
    top = min(MOST_SCALE, max(LEAST_SCALE, 1.25 * max(known, default=0.0)))
    axis = Axis(0.0, top, LEFT, END)
    content = [*_scale(axis, count)]
    for number, (name, station) in enumerate(result.stations.items()):
        content += _row(name, station, axis, TOP + (number + 0.5) * ROW)
    title = f"Estimated hold at each station of {result.design} revision {result.revision}"
    told = " ".join(f"{name}: {_words(station)}." for name, station in result.stations.items())
    return chart.picture("grips", TOP + count * ROW + 26, title, told, content)


def margins(station: StationResult) -> dict[str, float]:
    found = {"slip": station.hold.slip, "lift": station.hold.lift, "tip": station.hold.tip}
    return {mode: margin for mode, margin in found.items() if margin is not None}


def least(station: StationResult) -> float | None:
    return min(margins(station).values(), default=None)


def _scale(axis: Axis, count: int) -> Iterator[str]:
    foot = TOP + count * ROW
    yield chart.line("axis", LEFT, TOP, LEFT, foot)
    for level, words in ((HELD, "just held"), (ADVISED, "twice, advised")):
        css = "limit" if level == HELD else "advised"
        yield chart.line(css, axis.at(level), TOP - 8, axis.at(level), foot)
        yield chart.text("mid small", axis.at(level), TOP - 14, words)
    for tick in (t for t in axis.ticks(7) if t == int(t)):
        yield chart.line("tick", axis.at(tick), foot, axis.at(tick), foot + 5)
        yield chart.text("mid", axis.at(tick), foot + 18, f"{tick:g}")
    yield chart.text("start", END + 16, foot + 18, "times the cut")


def _row(name: str, station: StationResult, axis: Axis, y: float) -> Iterator[str]:
    yield chart.text("end name", LEFT - 12, y + 5, name)
    yield chart.line("grid", LEFT, y, END, y)
    smallest = least(station)
    if smallest is not None:
        end = min(smallest, axis.high)
        css = "margin short" if smallest < HELD else "margin"
        yield chart.block(css, LEFT, y - 4, axis.at(max(end, 0.0)) - LEFT, 8)
        if smallest > axis.high:
            yield chart.trace("margin", [(END, y - 8), (END + 10, y), (END, y + 8)])
    yield from _marks(margins(station), axis, y)
    low = smallest is not None and smallest < HELD
    css = "start value beyond" if low else "start value"
    yield chart.text(css, END + 16, y + 5, ("\u25b2 " if low else "") + _words(station))


def _marks(found: dict[str, float], axis: Axis, y: float) -> Iterator[str]:
    """A mark for each mode, with its word where the next mark leaves room for it."""
    shown = sorted((margin, mode) for mode, margin in found.items() if margin <= axis.high)
    places = [axis.at(max(margin, 0.0)) for margin, _ in shown]
    for x, after, (_, mode) in zip(places, [*places, END + 8.0][1:], shown, strict=True):
        yield MODES[mode]("open", x, y)
        if after - x > WORD:
            yield chart.text("start small", x + 8, y + 4, mode)


def _words(station: StationResult) -> str:
    if station.cut is None:
        return "no cut given"
    smallest = least(station)
    if smallest is None or station.worst is None:
        return f"no limit, {station.cut}"
    return f"{multiple(smallest)}, {station.worst}, {station.cut}"
