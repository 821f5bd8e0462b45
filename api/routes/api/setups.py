"""One setup, whole: every record, its place in the chain, and the state they fold to."""

from __future__ import annotations

import json

from fastapi import APIRouter

from api.deps import ReaderDep
from api.routes.api import models
from api.routes.api.openapi import may_answer
from api.routes.api.parameters import SetupId
from api.use_cases import setups
from api.use_cases.setups import RecordedEvent

router = APIRouter(tags=["setups"])


@router.get("/setups/{setup_id}", responses=may_answer(401, 403, 404, 422, 503))
def get_setup(uow: ReaderDep, setup_id: SetupId) -> models.Setup:
    record = setups.get_setup(uow, setup_id)
    summary = record.summary and models.SetupEntry.model_validate(record.summary)
    return models.Setup(
        id=record.id,
        summary=summary,
        state=record.state_json,
        events=[_event(one) for one in record.events],
        signatures=[models.SignatureEntry.model_validate(one) for one in record.signatures],
    )


def _event(one: RecordedEvent) -> models.EventEntry:
    stored = one.stored
    return models.EventEntry(
        seq=stored.seq,
        received_at=stored.received_at,
        hash=stored.hash,
        chain=stored.chain,
        flags=list(stored.flags),
        event=json.loads(stored.text),
    )
