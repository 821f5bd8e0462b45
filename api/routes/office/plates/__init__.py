"""The plates' screens: designs and their revisions, physical plates, paper sheets."""

from __future__ import annotations

from fastapi import APIRouter

from api.routes.office.plates import changing, computed, listing, loading, paper, plate, revision

router = APIRouter()
for part in (listing, loading, revision, computed, paper, changing, plate):
    router.include_router(part.router)
