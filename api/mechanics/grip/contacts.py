"""Contacts of a held piece: patches, spread over a few points each."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Vector = tuple[float, float, float]
Kind = Literal["pressed", "fixed", "seat"]

# A face's pressure may shift by a sixth of its height and width, as far as a linear pressure stays
# above zero over the whole face; a rigid piece on a seat tips about the very edge.
REACH: Final[dict[Kind, float]] = {"pressed": 1 / 6, "fixed": 1 / 6, "seat": 1 / 2}
UPRIGHT: Final = np.array([0.0, 0.0, 1.0])


class GripError(ValueError):
    """A grip that cannot be computed; the message says what to change."""


@dataclass(frozen=True)
class Patch:
    """One flat contact: point_m its middle, normal points into the held piece.

    pressed: pushed with a given force; fixed and seat: push back as hard as they must.
    height_m runs up the face (along y on a level patch), width_m across (along x);
    both 0 for a point, one 0 for a line. reach: how far from the middle the pressure can move,
    as a share of height and width; None takes REACH.
    """

    point_m: Vector
    normal: Vector
    friction: float
    kind: Kind
    height_m: float = 0.0
    width_m: float = 0.0
    reach: float | None = None

    def __post_init__(self) -> None:
        numbers = (*self.point_m, *self.normal, self.friction, self.height_m, self.width_m)
        if not np.all(np.isfinite(numbers)):
            raise GripError("A contact has a number that is not finite.")
        if self.friction < 0 or self.height_m < 0 or self.width_m < 0:
            raise GripError("Friction, height and width of a contact cannot be negative.")
        if not np.linalg.norm(self.normal):
            raise GripError("A contact needs a normal that points into the piece.")


@dataclass(frozen=True)
class Contacts:
    """Point contacts: points_m and unit normals (n, 3), friction and pressed (n,).

    push (3,) is the direction in which the pressed contacts together push.
    """

    points_m: Array
    normals: Array
    friction: Array
    pressed: npt.NDArray[np.bool_]
    push: Array


def spread(patches: Sequence[Patch], push: Vector | None = None) -> Contacts:
    """Points that stand for the patches.

    A patch becomes the 1, 2 or 4 points that its pressure can move to, so that tilt is resisted
    by a shift of pressure. push defaults to the level part of the mean pressed normal: what a
    level clamp pushes with is level, whatever the tilt of its face.
    Raises GripError if nothing presses or the pressed faces push nowhere.
    """
    pressed = [patch for patch in patches if patch.kind == "pressed"]
    if not pressed:
        raise GripError("Nothing presses on the piece: give at least one pressed contact.")
    points = [_points_of(patch) for patch in patches]
    counts = [len(part) for part in points]
    return Contacts(
        points_m=np.vstack(points),
        normals=np.repeat([_unit(np.array(patch.normal)) for patch in patches], counts, axis=0),
        friction=np.repeat([patch.friction for patch in patches], counts),
        pressed=np.repeat([patch.kind == "pressed" for patch in patches], counts),
        push=_level_push(pressed) if push is None else _unit(np.array(push, dtype=np.float64)),
    )


def tangents(normal: Array) -> tuple[Array, Array]:
    """Two unit vectors across and up the face; x and y on a level face."""
    if abs(normal[2]) > 1 - 1e-9:
        return np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
    across = _unit(np.cross(UPRIGHT, normal))
    return across, np.cross(normal, across)


def _points_of(patch: Patch) -> Array:
    reach = REACH[patch.kind] if patch.reach is None else patch.reach
    across, up = tangents(_unit(np.array(patch.normal, dtype=np.float64)))
    sideways = {-reach * patch.width_m, reach * patch.width_m}
    upward = {-reach * patch.height_m, reach * patch.height_m}
    middle = np.array(patch.point_m, dtype=np.float64)
    return np.array(
        [middle + s * across + u * up for s in sorted(sideways) for u in sorted(upward)]
    )


def _level_push(pressed: Sequence[Patch]) -> Array:
    total = np.sum([_unit(np.array(patch.normal, dtype=np.float64)) for patch in pressed], axis=0)
    level = total * (1 - UPRIGHT)
    if np.linalg.norm(level) < 1e-6:
        raise GripError("The pressed contacts push in no level direction: name the direction.")
    return _unit(level)


def _unit(vector: Array) -> Array:
    return np.asarray(vector / np.linalg.norm(vector), dtype=np.float64)
