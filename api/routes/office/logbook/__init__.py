"""The logbook's screens: setups, one setup as a record, readings over time."""

from __future__ import annotations

from fastapi import APIRouter

from api.routes.office.logbook import listing, readings, record

router = APIRouter()
for part in (listing, readings, record):
    router.include_router(part.router)
