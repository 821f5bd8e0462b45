"""A plate with what presses on it, as plain numbers; SI throughout."""

from __future__ import annotations

from dataclasses import dataclass

from api.mechanics.contact.rests import Receivers
from api.mechanics.plate.actions import Push
from api.mechanics.plate.shape import PlateShape
from api.mechanics.side_force.forces import Spreader


@dataclass(frozen=True)
class End:
    """One end of a link: the anchor it pushes and the way (x, y) one newton pushes it."""

    anchor: int
    along: tuple[float, float]


@dataclass(frozen=True)
class Link:
    """A piece pressed between two anchors.

    `pushes` act on the plate, each per newton in the link; together they are in balance.
    `own_m_per_n` is the compliance of jaw, piece and contacts. `jacks` press it, one or two.
    """

    pushes: tuple[Push, ...]
    own_m_per_n: float
    jacks: tuple[int, ...]
    ends: tuple[End, End]


@dataclass(frozen=True)
class Friction:
    """Friction as the 2.5 %, 50 % and 97.5 % points of what it may be."""

    low: float
    usual: float
    high: float


@dataclass(frozen=True)
class Jack:
    """A spreading screw. Jacks of one `grease` share their friction, of one `kind` their angles.

    `scatter` is the standard deviation of the logarithm of a measured side force, where the force
    is interpolated from measurements and not computed from friction. `base` is the friction of the
    jaws on what they slide on, which no grease of the screw reaches.
    """

    x_m: float
    y_m: float
    spreader: Spreader
    torque_nm: float
    friction: Friction
    base: Friction
    grease: int
    kind: int
    tool_share: float
    scatter: float | None = None


@dataclass(frozen=True)
class Site:
    """A footprint on the plate, `length_m` along x and `width_m` along y about its middle."""

    x_m: float
    y_m: float
    length_m: float
    width_m: float


@dataclass(frozen=True)
class Assembly:
    """`anchors_m_per_n` is how far each anchor itself gives way, beyond the plate's bow.

    `share_known` is False where the bars' share of work with the plate is only assumed;
    `tightened_locked` says whether the studs pull while the jacks are tightened.
    """

    shape: PlateShape
    receivers: Receivers
    links: tuple[Link, ...]
    jacks: tuple[Jack, ...]
    anchors_m_per_n: tuple[float, ...]
    points: tuple[tuple[float, float], ...]
    sites: tuple[Site, ...]
    tightened_locked: bool
    share_known: bool
    contact_pa_m: float
