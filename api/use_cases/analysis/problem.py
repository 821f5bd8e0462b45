"""A design as plain numbers: plate, bars, links, jacks, points and seats.

Along each line of anchors the force passes through the row; it does not add along it. What acts on
the plate per newton in a part is a push on each of its two anchors, at the height of contact, and for
round bar under a leaning face the couple of the upright forces with it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from api.domain.designs.document import Pocket as PocketTable
from api.domain.designs.document import Station, Stop
from api.domain.units import Quantity
from api.mechanics.contact.rests import Receivers, contact_stiffness_pa_m
from api.mechanics.plate.actions import Push
from api.mechanics.plate.shape import Bar, PlateShape, Pocket, Rectangle
from api.mechanics.whole.assembly import Assembly, End, Link, Site
from api.use_cases.analysis.anchors import Anchor, anchor_of, upright_pushes
from api.use_cases.analysis.ground import Ground
from api.use_cases.analysis.screws import jacks_of

BOLTED_SHARE = 0.5


@dataclass
class _Numbering:
    """Anchors get their numbers as they are met."""

    numbers: dict[tuple[str, float], int]
    gives_m_per_n: list[float]

    def of(self, anchor: Anchor) -> int:
        if anchor.key not in self.numbers:
            self.numbers[anchor.key] = len(self.gives_m_per_n)
            self.gives_m_per_n.append(anchor.gives_m_per_n)
        return self.numbers[anchor.key]


def assembly_of(ground: Ground) -> Assembly:
    """The whole design, for a ground whose materials and specs are known."""
    shape, receivers = _shape(ground), _receivers(ground)
    numbering = _Numbering({}, [])
    links = tuple(_link(ground, numbering, station) for station in ground.design.stations)
    if ground.leaning:
        ground.assume(
            "Clamps that press one part lean with their other jaw on the stop behind them, which takes the "
            f"force: {', '.join(f'{clamp} on {stop}' for clamp, stop in ground.leaning.items())}."
        )
    return Assembly(
        shape=shape,
        receivers=receivers,
        links=links,
        jacks=jacks_of(ground),
        anchors_m_per_n=tuple(numbering.gives_m_per_n),
        points=tuple((p.at[0].value, p.at[1].value) for p in ground.design.points),
        sites=tuple(_site(ground, station) for station in ground.design.stations),
        tightened_locked=ground.design.tightening.plate == "locked",
        share_known=all(stop.joint == "one piece" for stop in ground.design.stops),
        contact_pa_m=contact_stiffness_pa_m(receivers, shape.e_pa, shape.nu),
    )


def _shape(ground: Ground) -> PlateShape:
    plate, material = ground.design.plate, ground.plate_material
    length, width, thickness = (size.value for size in plate.size)
    return PlateShape(
        length,
        width,
        thickness,
        material.e_gpa * 1e9,
        material.nu,
        material.density_kg_m3,
        tuple(_pocket(pocket) for pocket in plate.pockets),
        tuple(_bar(ground, stop) for stop in ground.design.stops),
    )


def _pocket(pocket: PocketTable) -> Pocket:
    return Pocket(_rectangle(pocket.corner, pocket.size), pocket.depth.value)


def _bar(ground: Ground, stop: Stop) -> Bar:
    material = ground.material_of(stop)
    if stop.material is None:
        ground.assume(f"Stops without a material are of the plate's, {material.id}.")
    if stop.joint == "bolted":
        ground.assume(
            f"A bolted stop works with the plate by half (share {BOLTED_SHARE:g}, from 0.25 to 0.75 in the "
            'bands); joint = "one piece" makes it 1.'
        )
    return Bar(
        _rectangle(stop.corner, stop.size),
        stop.size[2].value,
        material.e_gpa * 1e9,
        material.nu,
        material.density_kg_m3,
        BOLTED_SHARE if stop.joint == "bolted" else 1.0,
    )


def _receivers(ground: Ground) -> Receivers:
    receivers = ground.design.receivers
    ground.assume(
        "A free plate lies on its receivers by its own weight; contact is without friction, and each stud "
        "pulls with its given force."
    )
    ground.assume("Snug is taken as no force: the clamps only touch before the first torque.")
    ground.assume("The weight of parts and clamps does not bend the plate.")
    return Receivers(
        tuple(x.value for x, _ in receivers.at),
        tuple(y.value for _, y in receivers.at),
        receivers.pad.diameter.value / 2,
        receivers.pad.bore.value / 2,
        receivers.pull.value,
        receivers.rest == "flat",
    )


def _link(ground: Ground, numbering: _Numbering, station: Station) -> Link:
    along, pressing = ground.along(station), ground.pressing(station)
    anchors = [anchor_of(ground, station, name) for name in station.between]
    ways = [(along[0] * anchor.away, along[1] * anchor.away) for anchor in anchors]
    pushes = tuple(_push(anchor, way) for anchor, way in zip(anchors, ways, strict=True))
    first, second = (
        End(numbering.of(anchor), way) for anchor, way in zip(anchors, ways, strict=True)
    )
    names = list(ground.clamps)
    return Link(
        pushes=(*pushes, *upright_pushes(ground, station)),
        own_m_per_n=sum(1 / ground.stiffness_n_m(clamp) for clamp in pressing) / len(pressing),
        jacks=tuple(names.index(clamp.id) for clamp in pressing),
        ends=(first, second),
    )


def _push(anchor: Anchor, way: tuple[float, float]) -> Push:
    return Push(anchor.x_m, anchor.y_m, anchor.height_m, way, 0.0, anchor.half_x_m, anchor.half_y_m)


def _site(ground: Ground, station: Station) -> Site:
    x0, y0, x1, y1 = ground.layout.parts[station.id].box
    return Site(station.at[0].value, station.at[1].value, (x1 - x0) / 1e3, (y1 - y0) / 1e3)


def _rectangle(corner: Sequence[Quantity], size: Sequence[Quantity]) -> Rectangle:
    x, y = corner[0].value, corner[1].value
    return Rectangle(x, y, x + size[0].value, y + size[1].value)
