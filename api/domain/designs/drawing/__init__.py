"""The plate's plan as SVG: the base for the bench, and with marks for the office and for print."""

from api.domain.designs.drawing.plan import MARGIN_MM, draw, plan

__all__ = ["MARGIN_MM", "draw", "plan"]
