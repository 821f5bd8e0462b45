"""What takes the force at each end of a part: a stop, a clamp's body, or the bar it leans on."""

from __future__ import annotations

import math
from dataclasses import dataclass

from api.domain.designs import geometry as g
from api.domain.designs.document import Clamp, Station, Stop
from api.domain.designs.layout import contact_radius_mm, reach_mm
from api.mechanics.plate.actions import Push
from api.use_cases.analysis.ground import Ground

FLOATING = 100.0  # times its own compliance: a floating clamp hardly takes any force itself
BODY_RADII = 2.0  # half of a clamp's footprint, in contact radii
WIDEST_CONTACT_MM = 30.0


@dataclass(frozen=True)
class Anchor:
    """`key` names the body (a stop once per row), `away` is +1 or -1 along the line of force."""

    key: tuple[str, float]
    away: float
    x_m: float
    y_m: float
    half_x_m: float
    half_y_m: float
    height_m: float
    gives_m_per_n: float


def anchor_of(ground: Ground, station: Station, name: str) -> Anchor:
    """The anchor that takes the force at this end of the part."""
    centre, along = (station.x_mm, station.y_mm), ground.along(station)
    if name in ground.stops:
        stop = ground.stops[name]
        away = math.copysign(1.0, min(_hits(ground, stop, centre, along), key=abs))
        return _stop(ground, station, stop, centre, away, station.contact_height.value)
    clamp = ground.clamps[name]
    at = (clamp.x_mm, clamp.y_mm)
    away = math.copysign(1.0, g.along_line(at, centre, along))
    behind = _leans_on(ground, clamp, along, away)
    if behind is not None:
        return _stop(ground, station, behind, at, away, jaw_height_m(ground, station))
    return _body(ground, station, clamp, away)


def _body(ground: Ground, station: Station, clamp: Clamp, away: float) -> Anchor:
    spec = ground.specs[clamp.spec]
    floats = spec.kind == "twin" and len(ground.stations_of(clamp)) > 1
    if floats:
        ground.assume("Twin wedge clamps between two parts float, so both sides press alike.")
    half = BODY_RADII * contact_radius_mm(spec) / 1e3
    return Anchor(
        key=(clamp.id, 0.0),
        away=away,
        x_m=clamp.at[0].value,
        y_m=clamp.at[1].value,
        half_x_m=half,
        half_y_m=half,
        height_m=jaw_height_m(ground, station),
        gives_m_per_n=FLOATING / ground.stiffness_n_m(clamp) if floats else 0.0,
    )


def _leans_on(ground: Ground, clamp: Clamp, along: g.Point, away: float) -> Stop | None:
    """The stop behind a clamp that presses one part only, if its other jaw can reach one."""
    if len(ground.stations_of(clamp)) > 1:
        return None
    ray, start = (along[0] * away, along[1] * away), (clamp.x_mm, clamp.y_mm)
    reach = reach_mm(ground.specs[clamp.spec])
    near = [
        (hits[0], stop.id)
        for stop in ground.design.stops
        if (hits := g.ray_hits(start, ray, ground.layout.stops[stop.id])) and 0 < hits[0] <= reach
    ]
    if not near:
        return None
    stop = min(near)[1]
    ground.leaning[clamp.id] = stop
    return ground.stops[stop]


def _stop(
    ground: Ground, station: Station, stop: Stop, start: g.Point, away: float, height_m: float
) -> Anchor:
    """The push goes into the middle of the stop's width, where its foot takes it."""
    along = ground.along(station)
    near, far = _hits(ground, stop, start, along)
    middle, depth = (near + far) / 2e3, abs(far - near) / 1e3
    box = ground.layout.parts[station.id].box
    wide = min(box[2] - box[0], box[3] - box[1], WIDEST_CONTACT_MM) / 1e3
    across_mm = round(along[0] * start[1] - along[1] * start[0], 1)
    return Anchor(
        key=(stop.id, across_mm),
        away=away,
        x_m=start[0] / 1e3 + along[0] * middle,
        y_m=start[1] / 1e3 + along[1] * middle,
        half_x_m=(abs(along[0]) * depth + abs(along[1]) * wide) / 2,
        half_y_m=(abs(along[1]) * depth + abs(along[0]) * wide) / 2,
        height_m=height_m,
        gives_m_per_n=_root_m_per_n(ground, stop, depth, wide, height_m),
    )


def _root_m_per_n(
    ground: Ground, stop: Stop, depth_m: float, wide_m: float, height_m: float
) -> float:
    """How far a stop's face gives way beside the plate: a short cantilever of the stop itself.

    h/(5/6 G A) + h^3/(3 E I), over a length of the contact's width and 2 h (the load spreads at
    45 degrees). Source: beam theory with shear; within 15 % of solid models of two faces of one bar.
    """
    material = ground.material_of(stop)
    e_pa, length_m, depth_m = material.e_gpa * 1e9, wide_m + 2 * height_m, max(depth_m, 1e-3)
    shear_pa = e_pa / (2 * (1 + material.nu))
    by_shear = height_m / (5 / 6 * shear_pa * depth_m * length_m)
    return by_shear + 4 * height_m**3 / (e_pa * length_m * depth_m**3)


def _hits(ground: Ground, stop: Stop, start: g.Point, along: g.Point) -> tuple[float, float]:
    hits = g.ray_hits(start, along, ground.layout.stops[stop.id])
    if hits is None:
        raise ValueError(f"The line of force misses stop {stop.id}; put both on one line.")
    return hits


def lean_of(ground: Ground, station: Station) -> tuple[Stop, float] | None:
    """The leaning stop of a round part with the tangent of its lean; flat stock feels only friction."""
    for name in station.between:
        stop = ground.stops.get(name)
        if stop is not None and stop.undercut.value > 0 and station.shape == "round":
            return stop, math.tan(stop.undercut.value)
    return None


def half_part_m(ground: Ground, station: Station) -> float:
    """Half of the part along the line of force."""
    centre = (station.x_mm, station.y_mm)
    hits = g.ray_hits(centre, ground.along(station), ground.layout.parts[station.id])
    return abs(hits[1]) / 1e3 if hits else 0.0


def jaw_height_m(ground: Ground, station: Station) -> float:
    """Where the jaw presses: below a leaning face's contact, so that the forces meet in the part."""
    lean = lean_of(ground, station)
    drop = 0.0 if lean is None else lean[1] * half_part_m(ground, station)
    return station.contact_height.value - drop


def upright_pushes(ground: Ground, station: Station) -> tuple[Push, ...]:
    """Per newton: a leaning face is pushed up and the part down on its seat, S tan(lean) each."""
    lean = lean_of(ground, station)
    if lean is None:
        return ()
    stop, share = lean
    along = ground.along(station)
    away = min(_hits(ground, stop, (station.x_mm, station.y_mm), along), key=abs)
    side = math.copysign(half_part_m(ground, station), away)
    x, y = station.at[0].value, station.at[1].value
    face = Push(x + along[0] * side, y + along[1] * side, 0.0, (0.0, 0.0), share)
    return (face, Push(x, y, 0.0, (0.0, 0.0), -share))
