"""Whether what presses a piece holds it against its cuts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, sin
from typing import Literal

from api.mechanics.cutting.drills import DrillCut
from api.mechanics.cutting.loads import CutLoad, cut_load
from api.mechanics.cutting.mills import MillCut
from api.mechanics.grip.cones import weight_at
from api.mechanics.grip.contacts import Patch, Vector, spread
from api.mechanics.grip.facets import Holdable, holdable
from api.mechanics.grip.margins import Margins, margins
from api.mechanics.grip.tool_load import ToolLoad

Form = Literal["block", "bar across", "bar along", "upright bar"]
GRAVITY_M_S2 = 9.80665


@dataclass(frozen=True)
class Face:
    """One of the two faces a piece is held by; `lean_rad` leans over the piece.

    `pressed` faces push with the given force, the other pushes back.
    """

    friction: float
    height_m: float
    strip_m: float
    width_m: float
    lean_rad: float
    pressed: bool


@dataclass(frozen=True)
class Piece:
    """A piece seen along its push: x from face to face, y across, z up, middle of its foot at 0."""

    form: Form
    length_m: float
    width_m: float
    height_m: float
    mass_kg: float
    first: Face
    second: Face
    seat_friction: float


@dataclass(frozen=True)
class Tool:
    """A cut, how high above the seat it acts, and how far from the middle its tool may work."""

    name: str
    cut: MillCut | DrillCut
    height_m: float
    reach_x_m: float
    reach_y_m: float


@dataclass(frozen=True)
class Held:
    """The tightest of a piece's cuts, with its margins and load."""

    tool: str
    margins: Margins
    load: CutLoad


def held(piece: Piece, side_n: float, tools: Sequence[Tool]) -> Held | None:
    """The cut that leaves least, at this side force; None without a cut."""
    return tightest(contacts_of(piece), piece, side_n, tools)


def contacts_of(piece: Piece) -> Holdable:
    """Independent of the force, so pieces alike share it."""
    faces = [_face(piece, piece.first, -1.0), _face(piece, piece.second, 1.0)]
    seat = Patch((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), piece.seat_friction, "seat", *_foot(piece))
    return holdable(spread([*faces, seat]))


def tightest(hold: Holdable, piece: Piece, side_n: float, tools: Sequence[Tool]) -> Held | None:
    weight = weight_at(piece.mass_kg * GRAVITY_M_S2, (0.0, 0.0, piece.height_m / 2))
    found = []
    for tool in tools:
        load = cut_load(tool.cut)
        peaks = ToolLoad(load.horizontal_n, load.up_n, load.down_n, load.torque_nm)
        found.append(Held(tool.name, margins(hold, side_n, weight, peaks, _positions(tool)), load))
    return min(found, key=lambda one: one.margins.overall, default=None)


def _positions(tool: Tool) -> list[Vector]:
    return [
        (x, y, tool.height_m)
        for x in sorted({-tool.reach_x_m, tool.reach_x_m})
        for y in sorted({-tool.reach_y_m, tool.reach_y_m})
    ]


def _face(piece: Piece, face: Face, side: float) -> Patch:
    """A bar that lies across touches a leaning face where the face's normal points to its axis."""
    lean = face.lean_rad
    normal = (-side * cos(lean), 0.0, -sin(lean))
    half, height = piece.length_m / 2, face.height_m
    point = (side * half, 0.0, height)
    strip, width = face.strip_m, face.width_m
    if piece.form == "bar across":
        middle = piece.height_m / 2
        point = (side * half * cos(lean), 0.0, middle + half * sin(lean))
        strip = 0.0
    if piece.form == "upright bar":
        width = 0.0
    kind: Literal["pressed", "fixed"] = "pressed" if face.pressed else "fixed"
    return Patch(point, normal, face.friction, kind, strip, width)


def _foot(piece: Piece) -> tuple[float, float]:
    """Size of what stands on the seat, (across, along); a lying bar stands on a line."""
    match piece.form:
        case "bar across":
            return piece.width_m, 0.0
        case "bar along":
            return 0.0, piece.length_m
        case _:
            return piece.width_m, piece.length_m
