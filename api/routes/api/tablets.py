"""How a tablet comes to be one of the shop's: enrolment by code, then sessions by its key."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from api.deps import MeansDep, WriterDep
from api.routes.api import bodies, models
from api.routes.api.openapi import may_answer
from api.routes.api.sessions import TABLET_COOKIE
from api.routes.cookies import set_cookie
from api.use_cases import tablets

router = APIRouter(prefix="/tablets", tags=["tablets"])


@router.post("/enrol", status_code=201, responses=may_answer(403, 409, 413, 422, 503))
def enrol(uow: WriterDep, means: MeansDep, body: bodies.EnrolBody) -> models.Enrolled:
    """With a code that a lead made, and a proof that the key is the tablet's own."""
    made = tablets.enrol(uow, means, body.code, body.tablet, body.key, body.proof, body.build)
    return models.Enrolled.model_validate(made)


@router.post("/challenge", responses=may_answer(413, 422, 503))
def challenge(means: MeansDep, body: bodies.ChallengeBody) -> models.Challenge:
    """Something to sign; any name is answered alike."""
    return models.Challenge(nonce=tablets.challenge(means, body.tablet))


@router.post("/session", status_code=204, responses=may_answer(401, 413, 422, 503))
def open_session(
    request: Request, response: Response, uow: WriterDep, means: MeansDep, body: bodies.SessionBody
) -> None:
    """Sets the cookie that the exchange asks for."""
    admitted = tablets.open_session(uow, means, body.tablet, body.nonce, body.proof)
    seconds = int(tablets.SESSION.total_seconds())
    set_cookie(
        request, response, TABLET_COOKIE, admitted.token, max_age_s=seconds, samesite="strict"
    )
