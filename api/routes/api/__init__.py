"""The JSON API and the tablets' exchange."""

from fastapi import APIRouter, Depends

from api.routes.api import designs, docs, health, hints, plates, setups, sync, tablets
from api.routes.api.parameters import each_once
from api.routes.api.sessions import ReaderOfShop

router = APIRouter(dependencies=[Depends(each_once)])
for part in (health, tablets, sync):
    router.include_router(part.router, prefix="/api")
for closed in (designs, plates, setups):
    router.include_router(closed.router, prefix="/api", dependencies=[ReaderOfShop])
for hidden in (hints, docs):
    router.include_router(hidden.router, prefix="/api", include_in_schema=False)
