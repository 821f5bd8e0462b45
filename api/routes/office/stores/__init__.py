"""The stores' screens: shelves, items with their versions, forms, and where a tool was used."""

from __future__ import annotations

from fastapi import APIRouter

from api.routes.office.stores import changing, looking

router = APIRouter()
router.include_router(changing.router)
router.include_router(looking.router)
