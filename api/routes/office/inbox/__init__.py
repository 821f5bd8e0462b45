"""To settle: the lead's one list of what is in doubt, its items, and what was decided."""

from __future__ import annotations

from fastapi import APIRouter

from api.routes.office.inbox import adding, listing, one

router = APIRouter()
for part in (listing, one, adding):
    router.include_router(part.router)
