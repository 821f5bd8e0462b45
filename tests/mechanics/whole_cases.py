"""Assemblies built by hand: rows of links on a plate, on four pads, with measured jacks."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from api.mechanics.contact.rests import Receivers
from api.mechanics.plate.actions import Push
from api.mechanics.plate.shape import Bar, PlateShape, Rectangle
from api.mechanics.side_force.measured import measured_through
from api.mechanics.whole.assembly import Assembly, End, Friction, Jack, Link, Site
from api.mechanics.whole.loaded import loaded
from api.mechanics.whole.response import Response, response

Array = npt.NDArray[np.float64]
E_PA, NU, DENSITY = 69e9, 0.33, 2700.0
FRICTION = Friction(0.08, 0.11, 0.14)
LENGTH_M, WIDTH_M, THICK_M = 0.40, 0.25, 0.025
COARSE_M = 0.05


def jack(x_m: float, y_m: float, force_n: float = 8000.0, grease: int = 0) -> Jack:
    """10 N·m gives `force_n`; the force is in proportion to the torque."""
    spreader = measured_through([(10.0, force_n), (20.0, 2 * force_n)])
    return Jack(x_m, y_m, spreader, 10.0, FRICTION, FRICTION, grease, 0, 0.04, scatter=0.07)


def link(number: int, y_m: float, start_m: float, end_m: float, *jacks: int) -> Link:
    """A piece along x that pushes outward on two anchors of its own, 10 mm above the plate."""
    outward = (-1.0, 0.0), (1.0, 0.0)
    pushes = tuple(
        Push(x_m, y_m, 0.010, along, 0.0, 0.010, 0.015)
        for x_m, along in zip((start_m, end_m), outward, strict=True)
    )
    ends = (End(2 * number, outward[0]), End(2 * number + 1, outward[1]))
    return Link(pushes, 2e-8, jacks or (number,), ends)


def bars() -> tuple[Bar, ...]:
    return tuple(
        Bar(Rectangle(x, 0.02, x + 0.02, 0.23), 0.020, E_PA, NU, DENSITY, 0.5)
        for x in (0.02, 0.18, 0.36)
    )


def two_by_two() -> Assembly:
    """Two rows of two links between three bars, unequal on purpose."""
    links = (
        link(0, 0.06, 0.03, 0.14),
        link(1, 0.07, 0.24, 0.37),
        link(2, 0.17, 0.03, 0.15),
        link(3, 0.19, 0.23, 0.37),
    )
    jacks = tuple(
        jack(x, y, force)
        for x, y, force in (
            (0.14, 0.06, 8e3),
            (0.24, 0.07, 7e3),
            (0.15, 0.17, 9e3),
            (0.23, 0.19, 6e3),
        )
    )
    return Assembly(
        shape=PlateShape(LENGTH_M, WIDTH_M, THICK_M, E_PA, NU, DENSITY, (), bars()),
        receivers=Receivers(
            (0.1, 0.3, 0.1, 0.3), (0.06, 0.06, 0.19, 0.19), 0.020, 0.010, 15e3, everywhere=False
        ),
        links=links,
        jacks=jacks,
        anchors_m_per_n=(1e-9,) * 8,
        points=((0.2, 0.125), (0.0, 0.0), (0.4, 0.2), (0.2, 0.01)),
        sites=(Site(0.085, 0.06, 0.05, 0.036), Site(0.3, 0.07, 0.05, 0.036)),
        tightened_locked=False,
        share_known=True,
        contact_pa_m=2.4e12,
    )


def even() -> Assembly:
    """The same with both rows and both halves alike, so that it mirrors onto itself."""
    at = ((0.07, 0.03, 0.15), (0.07, 0.25, 0.37), (0.18, 0.03, 0.15), (0.18, 0.25, 0.37))
    return replace(
        two_by_two(),
        shape=PlateShape(LENGTH_M, WIDTH_M, THICK_M, E_PA, NU, DENSITY, (), even_bars()),
        links=tuple(link(k, y, start, end) for k, (y, start, end) in enumerate(at)),
        jacks=tuple(jack((start + end) / 2, y) for y, start, end in at),
        points=((0.05, 0.05), (0.35, 0.05), (0.05, 0.20), (0.35, 0.20), (0.2, 0.125)),
    )


def even_bars() -> tuple[Bar, ...]:
    return tuple(
        Bar(Rectangle(x, 0.02, x + 0.02, 0.23), 0.020, E_PA, NU, DENSITY, 0.5)
        for x in (0.02, 0.19, 0.36)
    )


def put_down(assembly: Assembly, spacing_m: float = COARSE_M) -> Response:
    return response(loaded(assembly, spacing_m), assembly)
