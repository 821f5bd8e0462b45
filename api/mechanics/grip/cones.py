"""Friction cones as columns of a linear programme, in forces and scaled moments."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from api.mechanics.grip.contacts import Contacts, GripError, Vector, tangents

Array = npt.NDArray[np.float64]

SIDES = 12
LEAST_SIDES = 8
WRENCH = 6  # rows of force and moment; the next row is the push of the pressed contacts
ROWS = 7
MOMENT_ROWS = (3, 4, 5)


@dataclass(frozen=True)
class Wrench:
    """A force and its moment about the origin, N and N·m."""

    force_n: Vector
    moment_nm: Vector


def force_at(force_n: Vector, point_m: Vector, moment_nm: Vector = (0.0, 0.0, 0.0)) -> Wrench:
    """The wrench of a force acting at a point, with a moment of its own."""
    moment = np.cross(point_m, force_n) + np.array(moment_nm)
    return Wrench(force_n, (float(moment[0]), float(moment[1]), float(moment[2])))


def weight_at(weight_n: float, centre_m: Vector) -> Wrench:
    """The wrench of a weight."""
    return force_at((0.0, 0.0, -weight_n), centre_m)


@dataclass(frozen=True)
class Cones:
    """Generators (7, n * sides): force, moment about centre_m over length_m, push.

    Non-negative sums of the columns are what the contacts can do to the piece.
    turns: False for a piece that cannot turn; its moments are left out (0).
    """

    contacts: Contacts
    sides: int
    columns: Array
    centre_m: Array
    length_m: float
    turns: bool = True


def friction_cones(contacts: Contacts, sides: int = SIDES) -> Cones:
    """Linearised friction cones of all contacts.

    Each point pushes with normal force N and friction up to μ N. The circle of friction becomes
    a polygon with its corners on the circle, so the polygon lies inside and no friction is
    credited that the circle does not have: exact across and up the face, and at worst a factor
    cos(π / sides) short in between.
    Raises GripError for fewer than eight sides.
    """
    if sides < LEAST_SIDES:
        raise GripError("A friction cone needs at least eight sides.")
    centre = contacts.points_m.mean(axis=0)
    reach = np.linalg.norm(contacts.points_m - centre, axis=1).max()
    length_m = float(reach) or 1.0
    turn = 2 * np.pi * np.arange(sides) / sides
    forces = np.stack(
        [
            normal + friction * (np.outer(np.cos(turn), across) + np.outer(np.sin(turn), up))
            for normal, friction, (across, up) in zip(
                contacts.normals, contacts.friction, map(tangents, contacts.normals), strict=True
            )
        ]
    )
    arms = (contacts.points_m - centre) / length_m
    moments = np.cross(arms[:, None, :], forces)
    push = (forces @ contacts.push) * contacts.pressed[:, None]
    columns = np.concatenate([forces, moments, push[:, :, None]], axis=2).reshape(-1, ROWS).T
    return Cones(contacts, sides, columns, centre, length_m)


def without_turning(cones: Cones) -> Cones:
    """The same contacts on a piece that cannot turn."""
    columns = cones.columns.copy()
    columns[list(MOMENT_ROWS)] = 0.0
    return replace(cones, columns=columns, turns=False)


def scaled(cones: Cones, wrench: Wrench) -> Array:
    """A wrench as a column (7,) of the programme; its push is 0."""
    force = np.array(wrench.force_n, dtype=np.float64)
    moment = np.array(wrench.moment_nm) - np.cross(cones.centre_m, force)
    return np.concatenate([force, cones.turns * moment / cones.length_m, [0.0]])
