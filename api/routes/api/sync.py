"""The tablets' exchange: what they did, what others did, and what they work to."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Header, Request, Response

from api.deps import MeansDep, ReaderDep, WriterDep
from api.domain.errors import NotAllowed
from api.routes.api import bodies, models
from api.routes.api.openapi import may_answer
from api.routes.api.parameters import After, Limit
from api.routes.api.sessions import SenderDep, TabletDep
from api.routes.api.turns import turn
from api.use_cases import records, shop

router = APIRouter(prefix="/sync", tags=["sync"])


@router.post("/push", responses=may_answer(400, 401, 403, 413, 422, 503))
def push(
    request: Request, sender: SenderDep, uow: WriterDep, means: MeansDep, body: bodies.PushBody
) -> models.PushAnswer:
    """Takes a batch; every event is committed by itself and answered by itself."""
    if body.tablet != sender.id:
        raise NotAllowed(
            f"This session is of tablet {sender.id}; it cannot send as another.",
            code="other-tablet",
        )
    seen = records.Seen(**body.seen.model_dump()) if body.seen else None
    with turn():
        taken = records.accept_events(
            uow, means, body.tablet, body.build, body.events, body.sigs, seen=seen
        )
    request.app.state.watch.nudge()
    return models.PushAnswer.model_validate(taken)


@router.get("/pull", responses=may_answer(401, 403, 422, 503))
def pull(
    _tablet: TabletDep, uow: ReaderDep, means: MeansDep, after: After = 0, limit: Limit = 500
) -> models.PullAnswer:
    """Events numbered above `after`, and verdicts on signatures that changed since."""
    return models.PullAnswer.model_validate(records.pull(uow, means, after, limit))


@router.get(
    "/shop",
    response_model=models.Shop,
    responses={304: {"description": "Nothing changed since"}, **may_answer(401, 403, 422, 503)},
)
def get_shop(
    _tablet: TabletDep,
    uow: ReaderDep,
    means: MeansDep,
    response: Response,
    if_none_match: Annotated[str | None, Header(max_length=500)] = None,
) -> models.Shop | Response:
    """Everything a tablet needs to work alone; send the ETag back to hear of changes only."""
    tag = f'"{shop.shop_version(uow, means)}"'
    headers = {"ETag": tag, "Cache-Control": "no-cache"}
    if if_none_match is not None and tag in (one.strip() for one in if_none_match.split(",")):
        return Response(status_code=304, headers=headers)
    response.headers.update(headers)
    return models.Shop.model_validate(shop.shop_data(uow, means))
