"""The cases: plates of made-up fixtures that differ where a plate model could go wrong."""

from __future__ import annotations

import math
from dataclasses import replace

from tests.bench.solid.case import (
    Bar,
    BodyPush,
    Box,
    Case,
    FacePush,
    Material,
    Pad,
    Push,
)

ALLOY = Material(68_900, 0.33, 2700)
PLAIN_ALLOY = Material(69_000, 0.33, 2700)
HARD_ALLOY = Material(71_700, 0.33, 2810)
STEEL = Material(205_000, 0.29, 7850)


def both_faces(
    left_mm: float, right_mm: float, y_mm: float, height_mm: float, force_n: float
) -> tuple[Push, Push]:
    """A pair of faces pushed apart along x; either may belong to the bar on its far side."""
    return (
        FacePush(left_mm, y_mm, height_mm, 180, force_n),
        FacePush(right_mm, y_mm, height_mm, 0, force_n),
    )


def with_bars(
    faces_mm: tuple[float, ...],
    wide_mm: float,
    y_mm: tuple[float, float],
    high_mm: float,
    material: Material,
) -> tuple[Bar, ...]:
    return tuple(Bar(Box((x, x + wide_mm), y_mm, high_mm), material) for x in faces_mm)


def three_bars() -> Case:
    rows = (50.0, 100.0, 150.0, 200.0)
    pairs = [both_faces(a, b, y, 10, 10_000) for y in rows for a, b in ((40, 180), (200, 360))]
    case = Case(
        "Three bars of one piece with the plate, four rows of two pairs",
        (400, 250, 25),
        PLAIN_ALLOY,
        bars=with_bars((20, 180, 360), 20, (20, 230), 20, PLAIN_ALLOY),
        pushes=tuple(push for pair in pairs for push in pair),
        pads=tuple(Pad(x, y, 40, 20, 2377, 15_000) for y in (60, 190) for x in (100, 300)),
    )
    return replace(case, points_mm=((200, 125), (200, 0), (110, 125), (0, 125)))


def three_bars_on_base() -> Case:
    return replace(
        three_bars(),
        title="Three bars, four rows of two pairs, pulled down onto a flat base",
        base_stiffness_n_mm3=100,
    )


def one_pair(bar_e_mpa: float) -> Case:
    case = three_bars()
    soft = replace(PLAIN_ALLOY, e_mpa=bar_e_mpa)
    return replace(
        case,
        title=f"Three bars of {bar_e_mpa:.0f} MPa, the left pair of the first row only",
        bars=tuple(replace(bar, material=soft) for bar in case.bars),
        pushes=case.pushes[:2],
        pads=(),
    )


def pockets(title: str, pushes: list[Push]) -> Case:
    return Case(
        title,
        (450, 300, 25),
        ALLOY,
        bars=with_bars((25, 135, 295, 405), 20, (30, 270), 18, ALLOY),
        pockets=(Box((190, 260), (40, 110), 6), Box((190, 260), (190, 260), 6)),
        pushes=tuple(pushes),
        pads=tuple(Pad(x, y, 40, 20, 2377, 15_000) for y in (75, 225) for x in (115, 335)),
    )


ROWS_MM = (60.0, 120.0, 180.0, 240.0)


def pockets_bars_pushed() -> Case:
    pushes: list[Push] = []
    for y in ROWS_MM:
        pushes += [*both_faces(45, 135, y, 10, 6000), *both_faces(315, 405, y, 10, 6000)]
    return pockets("Two pockets and four bars, bars pushed apart on either half", pushes)


def pockets_bodies_pushed() -> Case:
    pushes: list[Push] = []
    for y in ROWS_MM:
        pushes += [
            FacePush(45, y, 10, 180, 6000),
            BodyPush(115, y, 10, 0, 6000),
            BodyPush(335, y, 10, 180, 6000),
            FacePush(405, y, 10, 0, 6000),
        ]
    return pockets("Two pockets and four bars, outer bars pushed by clamp bodies", pushes)


def thin_steel_bars() -> Case:
    pairs = [both_faces(56, 284, y, 15, 5000) for y in (62.0, 158.0)]
    return Case(
        "Thin plate with two steel bars pushed apart",
        (340, 220, 12.7),
        HARD_ALLOY,
        bars=with_bars((36, 284), 20, (30, 190), 24, STEEL),
        pushes=tuple(push for pair in pairs for push in pair),
        pads=tuple(Pad(x, y, 30, 12, 2377, 8000) for y in (40, 180) for x in (60, 280)),
    )


def bare_slanted() -> Case:
    angle = math.degrees(math.atan2(80, 140))
    return Case(
        "No bars: two clamp bodies pushed apart along the line that joins them",
        (300, 200, 20),
        PLAIN_ALLOY,
        pushes=(
            BodyPush(80, 60, 12, angle + 180, 5000),
            BodyPush(220, 140, 12, angle, 5000),
        ),
    )


CASES = {
    "three-bars": three_bars,
    "pockets-bars-pushed": pockets_bars_pushed,
    "thin-steel-bars": thin_steel_bars,
    "pockets-bodies-pushed": pockets_bodies_pushed,
    "one-pair": lambda: one_pair(69_000),
    "one-pair-soft-bars": lambda: one_pair(34_500),
    "three-bars-on-base": three_bars_on_base,
    "bare-slanted": bare_slanted,
}
