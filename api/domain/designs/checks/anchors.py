"""Every station is held between two anchors on one line, and every clamp holds something."""

from __future__ import annotations

import math
from dataclasses import dataclass

from api.domain.designs import geometry as g
from api.domain.designs.document import Clamp, Design, Spec, Station
from api.domain.designs.findings import Path, Report
from api.domain.designs.layout import Layout, reach_mm

LINE_MM = 1.0
GAP_MM = 0.5
PARALLEL_DEG = 0.5


@dataclass(frozen=True)
class _Bench:
    design: Design
    specs: dict[str, Spec]
    layout: Layout
    report: Report
    clamps: dict[str, Clamp]


def check(design: Design, specs: dict[str, Spec], layout: Layout, report: Report) -> None:
    bench = _Bench(design, specs, layout, report, {clamp.id: clamp for clamp in design.clamps})
    for index, station in enumerate(design.stations):
        _station(bench, station, ("station", index, "between"))
    serving = {name for station in design.stations for name in station.between}
    for index, clamp in enumerate(design.clamps):
        path: Path = ("clamp", index, "at")
        body = layout.bodies[clamp.id]
        if clamp.id not in serving:
            report.stop(
                "idle-clamp",
                f"clamp {clamp.id}",
                f"no station names clamp {clamp.id} as an anchor",
                "name it in the station it holds, or take it out",
                ("clamp", index, "id"),
            )
        elif body.front is None or body.back is None:
            report.advise(
                "one-sided-clamp",
                f"clamp {clamp.id}",
                f"clamp {clamp.id} presses on one side only; its screw takes the whole side force",
                "give it a part or a stop on the other side too",
                path,
            )


def _station(bench: _Bench, station: Station, path: Path) -> None:
    subject = f"station {station.id}"
    clamps = [bench.clamps[name] for name in station.between if name in bench.clamps]
    if not clamps:
        bench.report.stop(
            "no-clamp",
            subject,
            f"both anchors of {station.id} are stops, so nothing presses the part",
            "name a clamp as one of the two anchors",
            path,
        )
        return
    along = g.direction(clamps[0].axis_deg)
    if len(clamps) == 2 and not _parallel(clamps[0].axis_deg, clamps[1].axis_deg):
        bench.report.stop(
            "not-in-line",
            subject,
            f"{clamps[0].id} and {clamps[1].id} spread in different directions",
            "give both clamps the same axis",
            path,
        )
        return
    _line(bench, station, along, path)


def _line(bench: _Bench, station: Station, along: g.Point, path: Path) -> None:
    """Along the line through the part's centre: where each anchor's face lies, with its side."""
    centre, subject = (station.x_mm, station.y_mm), f"station {station.id}"
    part = g.ray_hits(centre, along, bench.layout.parts[station.id])
    half_mm = part[1] if part else 0.0
    sides = []
    for end, name in enumerate(station.between):
        at = _place(bench, name, centre, along)
        if at is None:
            off = _offset(bench, name, centre, along)
            bench.report.stop(
                "not-in-line",
                subject,
                f"the line of force through {station.id} misses {name}"
                + (f" by {off:.3g} mm" if off else ""),
                f"put {station.id} and {name} on one line along the clamp's axis",
                (*path, end),
            )
            return
        sides.append(at)
        _gap(bench, station, name, abs(at) - half_mm, (*path, end))
    if sides[0] * sides[1] > 0:
        bench.report.stop(
            "same-side",
            subject,
            f"{station.between[0]} and {station.between[1]} stand on the same side of the part",
            "name one anchor on each side of the part",
            path,
        )


def _place(bench: _Bench, name: str, centre: g.Point, along: g.Point) -> float | None:
    """Signed distance from the part's centre to a clamp's axis or to a stop's nearer face."""
    clamp = bench.clamps.get(name)
    if clamp is not None:
        at = (clamp.x_mm, clamp.y_mm)
        return (
            None
            if g.offset_from_line(at, centre, along) > LINE_MM
            else g.along_line(at, centre, along)
        )
    hits = g.ray_hits(centre, along, bench.layout.stops[name])
    return None if hits is None else min(hits, key=abs)


def _offset(bench: _Bench, name: str, centre: g.Point, along: g.Point) -> float | None:
    clamp = bench.clamps.get(name)
    return None if clamp is None else g.offset_from_line((clamp.x_mm, clamp.y_mm), centre, along)


def _gap(bench: _Bench, station: Station, name: str, gap_mm: float, path: Path) -> None:
    clamp = bench.clamps.get(name)
    if clamp is None and gap_mm > GAP_MM + _lean_mm(bench, name):
        bench.report.stop(
            "no-contact",
            f"station {station.id}",
            f"the part at {station.id} stands {gap_mm:.3g} mm away from stop {name}",
            f"move {station.id} or {name} by {gap_mm:.3g} mm so that they touch",
            path,
        )
    if clamp is not None and gap_mm > reach_mm(bench.specs.get(clamp.spec)):
        bench.report.stop(
            "no-contact",
            f"station {station.id}",
            f"the part at {station.id} stands {gap_mm:.3g} mm away from the axis of clamp {name}, "
            f"more than its jaw can reach (about {reach_mm(bench.specs.get(clamp.spec)):.3g} mm)",
            f"move {station.id} or {name} closer",
            path,
        )


def _lean_mm(bench: _Bench, name: str) -> float:
    """An undercut face touches the part above its foot, so the foot may stand off by its lean."""
    undercut = next((stop.undercut.value for stop in bench.design.stops if stop.id == name), 0.0)
    return bench.design.part.size[2].mm * math.tan(undercut)


def _parallel(one_deg: float, other_deg: float) -> bool:
    turn = abs(one_deg - other_deg) % 180
    return min(turn, 180 - turn) <= PARALLEL_DEG
