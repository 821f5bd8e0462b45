"""Pictures, tables and sentences of a result, for pages, print and the terminal."""

from api.pictures.maps import bow_map, change_map
from api.pictures.page import report_page
from api.pictures.parts import findings_parts, report_parts

__all__ = ["bow_map", "change_map", "findings_parts", "report_page", "report_parts"]
