"""Everything lies on the plate, and heights and depths fit."""

from __future__ import annotations

from api.domain.designs import geometry as g
from api.domain.designs.document import Design
from api.domain.designs.findings import Path, Report
from api.domain.designs.layout import Layout


def check(design: Design, layout: Layout, report: Report) -> None:
    on_plate = _OnPlate(design, layout.plate, report)
    for index, stop in enumerate(design.stops):
        on_plate.check(f"stop {stop.id}", layout.stops[stop.id], ("stop", index, "corner"))
    for index, station in enumerate(design.stations):
        on_plate.check(
            f"the part at {station.id}", layout.parts[station.id], ("station", index, "at")
        )
    for index, clamp in enumerate(design.clamps):
        centre = g.around((clamp.x_mm, clamp.y_mm), 0.1, 0.1)
        on_plate.check(f"clamp {clamp.id}", centre, ("clamp", index, "at"))
    for index, point in enumerate(design.points):
        centre = g.around((point.x_mm, point.y_mm), 0.1, 0.1)
        on_plate.check(f"point {point.id}", centre, ("point", index, "at"))
    for index, (name, pad) in enumerate(layout.pads.items()):
        on_plate.check(f"receiver {name}", pad, ("receivers", "at", index))
    _pockets(design, on_plate, report)
    _heights(design, report)


class _OnPlate:
    def __init__(self, design: Design, plate: g.Outline, report: Report) -> None:
        self._design, self._plate, self._report = design, plate, report

    def check(self, subject: str, outline: g.Outline, path: Path) -> None:
        if g.inside(outline, self._plate):
            return
        x0, y0, x1, y1 = outline.box
        length, width = self._design.plate.length_mm, self._design.plate.width_mm
        self._report.stop(
            "off-the-plate",
            subject,
            f"{subject} reaches from x {x0:.4g} to {x1:.4g} mm and y {y0:.4g} to {y1:.4g} mm, beyond the "
            f"plate of {length:.4g} x {width:.4g} mm",
            f"move it {_shift(outline.box, length, width)}",
            path,
        )


def _shift(box: tuple[float, float, float, float], length: float, width: float) -> str:
    x0, y0, x1, y1 = box
    ways = []
    for low, high, end, forward, backward in (
        (x0, x1, length, "right", "left"),
        (y0, y1, width, "back", "forward"),
    ):
        if high - low > end:
            return "onto the plate and make it smaller"
        if low < 0:
            ways.append(f"{-low:.4g} mm {forward}")
        elif high > end:
            ways.append(f"{high - end:.4g} mm {backward}")
    return " and ".join(ways)


def _pockets(design: Design, on_plate: _OnPlate, report: Report) -> None:
    thickness = design.plate.thickness_mm
    for index, pocket in enumerate(design.plate.pockets):
        (x, y), (length, width) = pocket.corner, pocket.size
        outline = g.rectangle(x.mm, y.mm, length.mm, width.mm)
        path: Path = ("plate", "pocket", index)
        on_plate.check(f"pocket {index + 1}", outline, (*path, "corner"))
        if pocket.depth.mm >= thickness:
            report.stop(
                "pocket-too-deep",
                f"pocket {index + 1}",
                f"the pocket is {pocket.depth.text} deep in a plate of {thickness:.4g} mm",
                f"give a depth below {thickness:.4g} mm",
                (*path, "depth"),
            )


def _heights(design: Design, report: Report) -> None:
    part_height = design.part.size[2].mm
    stops = {stop.id: stop for stop in design.stops}
    for index, station in enumerate(design.stations):
        height, path = station.contact_height.mm, ("station", index, "contact_height")
        if height > part_height:
            report.stop(
                "contact-too-high",
                f"station {station.id}",
                f"the contact at {height:.4g} mm lies above the part, which is {part_height:.4g} mm high",
                f"give a contact height up to {part_height:.4g} mm",
                path,
            )
        for name in station.between:
            if name in stops and height > stops[name].size[2].mm:
                report.stop(
                    "contact-too-high",
                    f"station {station.id}",
                    f"the contact at {height:.4g} mm lies above stop {name}, "
                    f"which is {stops[name].size[2].mm:.4g} mm high",
                    "lower the contact or make the stop higher",
                    path,
                )
    _round_parts(design, report)


def _round_parts(design: Design, report: Report) -> None:
    sizes = tuple(size.mm for size in design.part.size)
    if g.bar_axis((sizes[0], sizes[1], sizes[2])) is not None:
        return
    for index, station in enumerate(design.stations):
        if station.shape == "round":
            report.stop(
                "not-round",
                f"station {station.id}",
                "the part is round here, but no two of its sizes are equal",
                "give the diameter twice in [part] size: "
                "x and y for an upright part, x and z for a bar along y",
                ("station", index, "shape"),
            )
