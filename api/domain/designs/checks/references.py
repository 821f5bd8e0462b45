"""Ids are unique, and whatever is named exists."""

from __future__ import annotations

from collections.abc import Container, Iterable

from api.domain.designs.document import Design, Spec
from api.domain.designs.findings import Path, Report
from api.domain.designs.specs import problems_of
from api.domain.stores import Stores

BREAKING = frozenset(
    {"duplicate-id", "unknown-anchor", "unknown-spec", "incomplete-spec", "same-anchor"}
)


def check(design: Design, specs: dict[str, Spec], stores: Stores, report: Report) -> None:
    _unique(design, report)
    _specs(design, stores, report)
    for index, clamp in enumerate(design.clamps):
        if clamp.spec not in specs:
            report.stop(
                "unknown-spec",
                f"clamp {clamp.id}",
                f"spec '{clamp.spec}' is neither in this file nor in the stores",
                f'add a [[spec]] with id = "{clamp.spec}", or name one of {_names(specs or stores.specs)}',
                ("clamp", index, "spec"),
            )
    _anchors(design, report)
    _materials(design, stores, report)


def _unique(design: Design, report: Report) -> None:
    anchors: list[tuple[str, str, Path]] = [
        ("stop", item.id, ("stop", i, "id")) for i, item in enumerate(design.stops)
    ]
    anchors += [("clamp", item.id, ("clamp", i, "id")) for i, item in enumerate(design.clamps)]
    groups = [anchors]
    groups.append(
        [("station", item.id, ("station", i, "id")) for i, item in enumerate(design.stations)]
    )
    groups.append([("point", item.id, ("point", i, "id")) for i, item in enumerate(design.points)])
    groups.append([("spec", item.id, ("spec", i, "id")) for i, item in enumerate(design.specs)])
    for group in groups:
        _unique_in(group, report)


def _unique_in(group: list[tuple[str, str, Path]], report: Report) -> None:
    first: dict[str, tuple[str, Path]] = {}
    for noun, name, path in group:
        if name in first:
            other, place = first[name]
            report.stop(
                "duplicate-id",
                f"{noun} {name}",
                f"the id {name} is already used by the {other} on line {report.line_of(place)}",
                f"give this {noun} another id",
                path,
            )
        first.setdefault(name, (noun, path))


def _specs(design: Design, stores: Stores, report: Report) -> None:
    for index, spec in enumerate(design.specs):
        subject = f"spec {spec.id}"
        for message, fix, field in problems_of(spec):
            report.stop("incomplete-spec", subject, message, fix, ("spec", index, field))
        if spec.lubricant and spec.friction is None and not _known(spec.lubricant, stores.greases):
            report.stop(
                "unknown-grease",
                subject,
                f"the grease '{spec.lubricant}' is not in the stores",
                f"name one of {_names(stores.greases)}, or enter it in the stores first",
                ("spec", index, "lubricant"),
            )


def _anchors(design: Design, report: Report) -> None:
    known = [*(stop.id for stop in design.stops), *(clamp.id for clamp in design.clamps)]
    for index, station in enumerate(design.stations):
        for end, name in enumerate(station.between):
            if name not in known:
                report.stop(
                    "unknown-anchor",
                    f"station {station.id}",
                    f"'{name}' is neither a stop nor a clamp of this design",
                    f"name two of {_names(known)}",
                    ("station", index, "between", end),
                )
        if station.between[0] == station.between[1]:
            report.stop(
                "same-anchor",
                f"station {station.id}",
                f"both anchors are {station.between[0]}",
                "name the stop or clamp on each side of the part",
                ("station", index, "between"),
            )
    _order(design, report)


def _order(design: Design, report: Report) -> None:
    order = design.tightening.order
    if order is None:
        return
    path: Path = ("tightening", "order")
    clamps = {clamp.id for clamp in design.clamps}
    unknown = [name for name in order if name not in clamps]
    missing = [clamp.id for clamp in design.clamps if clamp.id not in set(order)]
    twice = sorted({name for name in order if order.count(name) > 1})
    for names, what, fix in (
        (unknown, "names no clamp of this design", "take it out or correct the id"),
        (missing, "is missing from the order", "add it; every clamp is tightened once per pass"),
        (twice, "stands more than once in the order", "list every clamp once"),
    ):
        if names:
            report.stop("order", "tightening", f"{_names(names)} {what}", fix, path)


def _materials(design: Design, stores: Stores, report: Report) -> None:
    used: list[tuple[str, str, Path]] = [
        ("part", design.part.material, ("part", "material")),
        ("plate", design.plate.material, ("plate", "material")),
    ]
    used += [
        (f"stop {stop.id}", stop.material, ("stop", index, "material"))
        for index, stop in enumerate(design.stops)
        if stop.material is not None
    ]
    if not stores.materials:
        report.advise(
            "nothing-to-check-against",
            "stores",
            "no material is registered, so mass and thread strength are not checked",
            "enter the materials in the stores and check again",
        )
        return
    for subject, material, path in used:
        if material not in stores.materials:
            report.stop(
                "unknown-material",
                subject,
                f"the material '{material}' is not in the stores",
                f"name one of {_names(stores.materials)}, or enter it in the stores first",
                path,
            )


def _known(name: str, registered: Container[str]) -> bool:
    return name in registered


def _names(names: Iterable[str]) -> str:
    listed = list(names)
    shown = ", ".join(listed[:12])
    return (
        f"{shown} ..." if len(listed) > 12 else shown or "those of the stores (none is registered)"
    )
