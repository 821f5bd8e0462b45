"""The readiness check: a page whose script tries what the bench needs, and its partner here."""

from __future__ import annotations

import datetime as dt
from typing import Annotated

from fastapi import APIRouter
from fastapi.responses import FileResponse, HTMLResponse, Response
from pydantic import BaseModel, StringConstraints

from api.deps import MeansDep, OriginDep, WelcomeDep
from api.domain.errors import BadInput, Unavailable
from api.paths import share
from api.routes.welcome.pages import show

router = APIRouter(include_in_schema=False)

WHO = "readiness check"
WORKER = "ready-worker.js"
FRESH = {"Cache-Control": "no-cache"}
Short = Annotated[str, StringConstraints(min_length=1, max_length=200)]


class Asked(BaseModel):
    """What the page needs to begin with; `origin` is empty where any will do."""

    nonce: str
    time: dt.datetime
    origin: str


class Proof(BaseModel):
    """A key that was made for this only, and its signature of the nonce, in base64."""

    nonce: Short
    key: Short
    signature: Short


class Signed(BaseModel):
    signed: bool = True


@router.get("/ready", response_class=HTMLResponse)
def ready_page(origin: OriginDep, welcome: WelcomeDep) -> HTMLResponse:
    return show("ready.html", origin=origin, welcome=welcome)


@router.get("/ready/worker.js")
def worker() -> Response:
    """From below `/ready/`, so that it can never stand before the bench."""
    path = share("web/dist") / WORKER
    if not path.is_file():
        raise Unavailable(
            "The front end has not been built. Run 'python web/build.py' and reload this page."
        )
    return FileResponse(path, media_type="text/javascript", headers=FRESH)


@router.get("/api/ready")
def begin(means: MeansDep, origin: OriginDep) -> Asked:
    return Asked(nonce=means.tablet_keys.nonce(WHO), time=means.clock.now(), origin=origin)


@router.post("/api/ready")
def prove(means: MeansDep, proof: Proof) -> Signed:
    """Keeps nothing: neither key nor result."""
    if not means.tablet_keys.signed(proof.key, ready_text(proof.nonce), proof.signature):
        raise BadInput("The signature does not belong to this key and nonce.")
    if not means.tablet_keys.use_nonce(proof.nonce, WHO):
        raise BadInput("The nonce is older than a minute or was used before. Start the check anew.")
    return Signed()


def ready_text(nonce: str) -> str:
    return f"clampbook-ready/1 {nonce}"
