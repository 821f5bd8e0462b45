"""Where a clamp is in words, and the order of tightening where the file leaves it open."""

from __future__ import annotations

from typing import Literal

from api.domain.designs.document import Clamp, Design

Row = Literal["front", "middle", "back"]
Column = Literal["left", "middle", "right"]
SAME_ROW_MM = 5.0


def row_of(design: Design, clamp: Clamp) -> Row:
    """By thirds of the plate's width; the front is the bench side, where y is small."""
    share = clamp.y_mm / design.plate.width_mm
    return "front" if share < 1 / 3 else "middle" if share <= 2 / 3 else "back"


def column_of(design: Design, clamp: Clamp) -> Column:
    """By thirds of the plate's length, as seen from the bench side."""
    share = clamp.x_mm / design.plate.length_mm
    return "left" if share < 1 / 3 else "middle" if share <= 2 / 3 else "right"


def tightening_order(design: Design) -> list[str]:
    """The clamps in the order of tightening: the file's own, or from the middle outward."""
    given = design.tightening.order
    return order_from_middle(design) if given is None else list(given)


def order_from_middle(design: Design) -> list[str]:
    """From the middle rows outward, alternating columns.

    Rows (clamps within 5 mm in y) nearest the middle of the plate's width come first, the front one
    before the back one at equal distance. Within a row the columns nearest the middle of the length
    come first, left before right, so that two columns alternate. It spreads the pull evenly; whether
    another order bends the plate less is for a computation of the plate to say.
    """
    middle_x, middle_y = design.plate.length_mm / 2, design.plate.width_mm / 2
    rows = _rows(design)
    rows.sort(key=lambda row: (round(abs(_y(row) - middle_y), 3), _y(row)))
    return [
        clamp.id
        for row in rows
        for clamp in sorted(row, key=lambda c: (round(abs(c.x_mm - middle_x), 3), c.x_mm))
    ]


def _rows(design: Design) -> list[list[Clamp]]:
    rows: list[list[Clamp]] = []
    for clamp in sorted(design.clamps, key=lambda c: c.y_mm):
        if rows and clamp.y_mm - rows[-1][0].y_mm <= SAME_ROW_MM:
            rows[-1].append(clamp)
        else:
            rows.append([clamp])
    return rows


def _y(row: list[Clamp]) -> float:
    return sum(clamp.y_mm for clamp in row) / len(row)
