"""The office: pages made on the server for people who are signed in."""

from __future__ import annotations

from fastapi import APIRouter

from api.routes.office import (
    crew,
    handing_in,
    inbox,
    logbook,
    plates,
    signing_in,
    stores,
    system,
    tablets,
)

router = APIRouter(include_in_schema=False)
for part in (signing_in, plates, logbook, inbox, stores, crew, tablets, handing_in, system):
    router.include_router(part.router)
