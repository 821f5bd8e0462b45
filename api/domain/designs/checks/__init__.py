"""Everything the checker says about a design that could be read."""

from __future__ import annotations

from api.domain.designs.checks import (
    anchors,
    measuring,
    overlaps,
    place,
    references,
    strength,
    tightening,
)
from api.domain.designs.document import Design
from api.domain.designs.findings import Report
from api.domain.designs.layout import layout_of
from api.domain.designs.specs import specs_of
from api.domain.errors import BadInput
from api.domain.stores import Stores

__all__ = ["check"]


def check(design: Design, stores: Stores, report: Report) -> None:
    """Add every finding; what depends on broken references is left out until they are mended."""
    try:
        specs = specs_of(design, stores)
    except BadInput as reason:
        report.stop(
            "stored-spec",
            "spec",
            f"A spec of the stores cannot be used: {reason}",
            "Correct it in the stores",
        )
        return
    references.check(design, specs, stores, report)
    if report.findings and any(finding.code in references.BREAKING for finding in report.findings):
        return
    layout = layout_of(design, specs)
    place.check(design, layout, report)
    overlaps.check(design, specs, layout, report)
    anchors.check(design, specs, layout, report)
    strength.check(design, specs, stores, report)
    tightening.check(design, specs, stores, report)
    measuring.check(design, layout, stores, report)
