"""The plan drawing for the office: the sheet's frozen outlines under balloons, points and names."""

from __future__ import annotations

import re
from typing import Any

from markupsafe import Markup, escape

from api.domain.designs import Design
from api.domain.designs.drawing import MARGIN_MM
from api.domain.designs.drawing.marks import balloons, names, points
from api.domain.designs.drawing.svg import Sheet
from api.domain.records import Revision

PRINTABLE_MM = (267.0, 148.0)
SCALES = (1, 2, 2.5, 5, 10, 20)
_OPENING = re.compile(r"<svg\b[^>]*>")
_BOX = re.compile(r'viewBox="[-0-9. ]+"')


def full(revision: Revision, sheet: dict[str, Any]) -> Markup:
    """Outlines, clamps in balloons, indicator points as crosses, stations by name."""
    return _drawn(sheet, _marks(revision), Markup(""))


def thumb(sheet: dict[str, Any]) -> Markup:
    """Outlines alone, for a list."""
    return _drawn(sheet, "", Markup(""))


def to_scale(revision: Revision, sheet: dict[str, Any]) -> Markup:
    """The full drawing with its printed size at the largest standard scale that fits A4."""
    divisor = scale_of(sheet)
    width, height = (round(size / divisor, 2) for size in _size(sheet))
    attributes = Markup(' width="{}mm" height="{}mm"').format(width, height)
    return _drawn(sheet, _marks(revision), attributes, "to-scale")


def scale_of(sheet: dict[str, Any]) -> float:
    width, height = _size(sheet)
    fits = (n for n in SCALES if width / n <= PRINTABLE_MM[0] and height / n <= PRINTABLE_MM[1])
    return next(fits, SCALES[-1])


def scale_words(sheet: dict[str, Any]) -> str:
    return f"1 : {scale_of(sheet):g}"


def _marks(revision: Revision) -> str:
    design = Design.from_document(revision.document)
    on = Sheet(design.plate.width_mm)
    return "".join([*names(design, on), *balloons(design, on), *points(design, on)])


def _size(sheet: dict[str, Any]) -> tuple[float, float]:
    plate = sheet["plate"]
    return plate["length_mm"] + 2 * MARGIN_MM, plate["width_mm"] + 2 * MARGIN_MM


def _drawn(sheet: dict[str, Any], over: str, attributes: Markup, name: str = "") -> Markup:
    base = str(sheet["drawing"])
    opening = _OPENING.search(base)
    box = _BOX.search(opening.group()) if opening else None
    if opening is None or box is None:
        return Markup("")
    label = f"Plan of {sheet['design']} revision {sheet['revision']}, seen from above"
    start = (
        f'<svg xmlns="http://www.w3.org/2000/svg" {box.group()} role="img" '
        f'class="{f"drawing {name}".strip()}" aria-label="{escape(label)}"{attributes}>'
    )
    body = base[opening.end() :].rpartition("</svg>")[0]
    return Markup(f"{start}{body}{over}</svg>")  # noqa: S704 - made by the drawing code, which escapes
