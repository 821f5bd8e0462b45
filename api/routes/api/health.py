"""Whether this server can keep records: it writes a row and reads it back."""

from __future__ import annotations

from dataclasses import asdict

from fastapi import APIRouter

from api.deps import MeansDep, ReaderDep, ShelfDep, WriterDep, WritingDep
from api.domain.errors import Unavailable
from api.routes.api import models
from api.routes.api.openapi import may_answer
from api.routes.guards.read_only import RETRY_AFTER_S
from api.use_cases import system

router = APIRouter(tags=["system"])


@router.get("/health", responses=may_answer(503))
def health(
    uow: WriterDep, reader: ReaderDep, means: MeansDep, writing: WritingDep, shelf: ShelfDep
) -> models.Health:
    """503 while the server only reads: whoever watches it is told without a look at the page."""
    reason = writing.why()
    if reason:
        raise Unavailable(reason, code="read-only", retry_after_s=RETRY_AFTER_S)
    found = system.health(uow, reader, means)
    newest = shelf.newest()
    return models.Health(
        **asdict(found),
        free_bytes=writing.disk.free_bytes(),
        backed_up_at=newest.at if newest else None,
        backups_fail=shelf.failure() is not None,
    )
