"""Plates, and what was done on each."""

from __future__ import annotations

from fastapi import APIRouter

from api.deps import ReaderDep
from api.routes.api import models
from api.routes.api.openapi import may_answer
from api.routes.api.parameters import PageNumber, PerPage, Serial
from api.use_cases import plates, setups

router = APIRouter(tags=["plates"])


@router.get("/plates", responses=may_answer(401, 403, 503))
def list_plates(uow: ReaderDep) -> models.Plates:
    found = [models.Plate.model_validate(one) for one in plates.list_plates(uow)]
    return models.Plates(plates=found)


@router.get("/plates/{serial}", responses=may_answer(401, 403, 404, 422, 503))
def get_plate(uow: ReaderDep, serial: Serial) -> models.Plate:
    return models.Plate.model_validate(plates.get_plate(uow, serial))


@router.get("/plates/{serial}/history", responses=may_answer(401, 403, 404, 422, 503))
def plate_history(
    uow: ReaderDep, serial: Serial, page: PageNumber = 1, per_page: PerPage = setups.PER_PAGE
) -> models.History:
    """Setups of the plate, newest first."""
    found = setups.plate_history(uow, serial, page, per_page)
    entries = [models.SetupEntry.model_validate(one) for one in found.items]
    return models.History(
        plate=serial, page=found.page, pages=found.pages, total=found.total, setups=entries
    )
