"""Designs and their revisions."""

from __future__ import annotations

from fastapi import APIRouter

from api.deps import MeansDep, ReaderDep
from api.domain.analyses.result import Result
from api.routes.api import models
from api.routes.api.openapi import may_answer
from api.routes.api.parameters import Code, RevisionName
from api.use_cases import analyses, designs

router = APIRouter(tags=["designs"])


@router.get("/designs", responses=may_answer(401, 403, 503))
def list_designs(uow: ReaderDep) -> models.Designs:
    found = [models.DesignEntry.model_validate(one) for one in designs.list_designs(uow)]
    return models.Designs(designs=found)


@router.get("/designs/{code}/revisions/{revision}", responses=may_answer(401, 403, 404, 422, 503))
def get_revision(uow: ReaderDep, code: Code, revision: RevisionName) -> models.FullRevision:
    return models.FullRevision.model_validate(designs.get_revision(uow, code, revision))


@router.get(
    "/designs/{code}/{revision}/analysis", responses=may_answer(401, 403, 404, 409, 422, 503)
)
def get_analysis(uow: ReaderDep, means: MeansDep, code: Code, revision: RevisionName) -> Result:
    """What was computed, once it is done, with the findings of the file among its checks."""
    return analyses.get_result(uow, means, code, revision)
