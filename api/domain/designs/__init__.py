"""Designs: the file, its checks, its drawing and the sheet the bench works from."""

from api.domain.designs.document import Design
from api.domain.designs.findings import Finding
from api.domain.designs.reading import Reading, read_design

__all__ = ["Design", "Finding", "Reading", "read_design"]
