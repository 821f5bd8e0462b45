"""The JSON API and the tablets' exchange."""

from fastapi import APIRouter, Depends

from api.routes.api import designs, docs, health, hints, plates, setups, sync
from api.routes.api.parameters import each_once

router = APIRouter(dependencies=[Depends(each_once)])
for part in (health, designs, plates, setups, sync):
    router.include_router(part.router, prefix="/api")
for hidden in (hints, docs):
    router.include_router(hidden.router, prefix="/api", include_in_schema=False)
