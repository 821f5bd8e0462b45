"""What the indicator is expected to read at each point, with its band, against its limits."""

from __future__ import annotations

from collections.abc import Iterator

from api.domain.analyses.result import PointResult, Result
from api.pictures import chart
from api.pictures.chart import Axis
from api.pictures.words import limits_um, um

LEFT, END = 74.0, 520.0
TOP, ROW = 30.0, 44.0
BAND = 9.0


def readings(result: Result) -> str:
    """A wash from low to high, a dot at the usual value, rust dashes at the limits."""
    axis = _axis([*result.points.values()])
    content = [*_scale(axis, len(result.points))]
    for number, (name, point) in enumerate(result.points.items()):
        content += _row(name, point, axis, TOP + (number + 0.5) * ROW)
    title = f"Expected readings of {result.design} revision {result.revision}"
    told = " ".join(
        f"{name}: {_range(point)} µm, limits {limits_um(point.limit_um)}, {point.verdict}."
        for name, point in result.points.items()
    )
    return chart.picture("readings", TOP + len(result.points) * ROW + 30, title, told, content)


def _axis(points: list[PointResult]) -> Axis:
    values = [0.0]
    for point in points:
        values += [*point.limit_um, point.reading_um.low, point.reading_um.high]
    low, high = min(values), max(values)
    room = 0.06 * (high - low) or 1.0
    return Axis(low - room, high + room, LEFT, END)


def _scale(axis: Axis, count: int) -> Iterator[str]:
    foot = TOP + count * ROW
    for tick in axis.ticks(8):
        css = "zero" if tick == 0 else "grid"
        yield chart.line(css, axis.at(tick), TOP, axis.at(tick), foot)
        yield chart.text("mid", axis.at(tick), foot + 16, um(tick))
    yield chart.text("start", END + 16, foot + 16, "µm")


def _row(name: str, point: PointResult, axis: Axis, y: float) -> Iterator[str]:
    band = point.reading_um
    yield chart.text("end name", LEFT - 16, y + 5, name)
    start, end = axis.at(band.low), axis.at(band.high)
    yield chart.block("band", start, y - BAND, max(end - start, 1.0), 2 * BAND)
    for limit in point.limit_um:
        yield chart.line("limit", axis.at(limit), y - 17, axis.at(limit), y + 17)
    yield chart.dot("dot", axis.at(band.usual), y, 4.5)
    yield chart.text("start value", END + 16, y - 3, f"{_range(point)} µm")
    css = "start says" if point.verdict == "within" else f"start says {point.verdict}"
    mark = "\u25b2 " if point.verdict == "beyond" else ""
    yield chart.text(
        css, END + 16, y + 13, f"{mark}{point.verdict}, limits {limits_um(point.limit_um)}"
    )


def _range(point: PointResult) -> str:
    return f"{um(point.reading_um.low)} to {um(point.reading_um.high)}"
