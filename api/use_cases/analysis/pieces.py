"""Stations as held pieces with their cuts, at the low end of friction."""

from __future__ import annotations

from api.domain.designs import geometry as g
from api.domain.designs.document import Cut, Design, Station
from api.domain.designs.layout import contact_radius_mm
from api.mechanics.cutting.drills import DrillCut
from api.mechanics.cutting.mills import MillCut
from api.mechanics.grip.friction import ON_PLATE, face_friction
from api.mechanics.whole.holding import Face, Form, Piece, Tool
from api.use_cases.analysis.anchors import half_part_m, jaw_height_m
from api.use_cases.analysis.ground import Ground

JAW_RADII = 2.0  # half width and half height of a jaw, in contact radii


def piece_of(ground: Ground, station: Station) -> Piece:
    """Friction at its 2.5 % value: what the verdict is taken with."""
    along, part = ground.along(station), ground.design.part
    material = ground.stores.materials[part.material]
    size = tuple(size.value for size in part.size)
    form = _form(ground, station, along)
    volume = size[0] * size[1] * size[2] * (1.0 if form == "block" else 0.785398)
    presser = ground.pressing(station)[0].id
    faces = tuple(_face(ground, station, name, name == presser) for name in station.between)
    ground.assume(
        "Grip is judged at the 2.5 % value of friction and of the force that is left after all clamps; "
        f"part on plate {ON_PLATE.low:.3f}, smooth face {face_friction('smooth').low:.3f}."
    )
    return Piece(
        form=form,
        length_m=2 * half_part_m(ground, station),
        width_m=_across_m(ground, station, along),
        height_m=size[2],
        mass_kg=volume * material.density_kg_m3,
        first=faces[0],
        second=faces[1],
        seat_friction=ON_PLATE.low,
    )


def tools_of(ground: Ground, station: Station) -> list[Tool]:
    """Every cut of the design; none where the part's material has no cutting constants."""
    material = ground.stores.materials[ground.design.part.material]
    if material.kc11_mpa is None or material.mc is None:
        return []
    along = ground.along(station)
    if any(cut.kind == "drill" for cut in ground.design.cuts):
        ground.assume("Holes are drilled within the middle half of the part, each way.")
    half_x, half_y = half_part_m(ground, station), _across_m(ground, station, along) / 2
    kc11_pa, mc = material.kc11_mpa * 1e6, material.mc
    return [
        Tool(
            cut.name,
            cutter_of(cut, kc11_pa, mc),
            cut.height.value,
            *(_reach_m(cut, half) for half in (half_x, half_y)),
        )
        for cut in ground.design.cuts
    ]


def cutter_of(cut: Cut, kc11_pa: float, mc: float) -> MillCut | DrillCut:
    diameter, feed = cut.diameter.value, cut.feed_per_tooth.value
    if cut.kind == "drill":
        return DrillCut(diameter, cut.teeth, feed, kc11_pa, mc, worn=cut.worn)
    return MillCut(
        cut.kind,
        diameter,
        cut.teeth,
        cut.depth.value,
        min(cut.width.value, diameter),
        feed,
        cut.lead.value,
        kc11_pa,
        mc,
        worn=cut.worn,
    )


def _reach_m(cut: Cut, half_m: float) -> float:
    """Face and side cuts reach the part's edges, slots stay within it, holes within its middle half."""
    if cut.kind == "drill":
        return half_m / 2
    return max(half_m - cut.diameter.value / 2, 0.0) if cut.kind == "slot" else half_m


def _face(ground: Ground, station: Station, name: str, pressed: bool) -> Face:
    """Of two clamps at one part only the first presses; the other pushes back."""
    strength = ground.stores.materials[ground.design.part.material].yield_mpa * 1e6
    across = _across_m(ground, station, ground.along(station))
    part_height = ground.design.part.size[2].value
    stop = ground.stops.get(name)
    if stop is None:
        height = jaw_height_m(ground, station)
        jaw = JAW_RADII * contact_radius_mm(ground.specs[ground.clamps[name].spec]) / 1e3
        strip = 2 * min(height, part_height - height, jaw)
        return Face(
            face_friction("smooth", strength).low,
            height,
            max(strip, 0.0),
            min(across, 2 * jaw),
            0.0,
            pressed,
        )
    height = station.contact_height.value
    strip = 2 * min(height, min(part_height, stop.size[2].value) - height)
    lean = stop.undercut.value if station.shape == "round" else 0.0
    friction = face_friction(stop.face, strength).low
    return Face(friction, height, max(strip, 0.0), across, lean, pressed=False)


def _across_m(ground: Ground, station: Station, along: g.Point) -> float:
    """The part's width square to the line of force."""
    centre, square = (station.x_mm, station.y_mm), (-along[1], along[0])
    hits = g.ray_hits(centre, square, ground.layout.parts[station.id])
    return (hits[1] - hits[0]) / 1e3 if hits else 0.0


def _form(ground: Ground, station: Station, along: g.Point) -> Form:
    if station.shape == "block":
        return "block"
    axis = bar_axis_of(ground.design)
    if axis == "z":
        return "upright bar"
    pushed_along_x = abs(along[0]) > abs(along[1])
    return "bar along" if (axis == "x") == pushed_along_x else "bar across"


def bar_axis_of(design: Design) -> str | None:
    x, y, z = (size.mm for size in design.part.size)
    return g.bar_axis((x, y, z))
