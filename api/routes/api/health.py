"""Whether this server can keep records: it writes a row and reads it back."""

from __future__ import annotations

from fastapi import APIRouter

from api.deps import MeansDep, ReaderDep, WriterDep
from api.routes.api import models
from api.routes.api.openapi import may_answer
from api.use_cases import system

router = APIRouter(tags=["system"])


@router.get("/health", responses=may_answer(503))
def health(uow: WriterDep, reader: ReaderDep, means: MeansDep) -> models.Health:
    return models.Health.model_validate(system.health(uow, reader, means))
