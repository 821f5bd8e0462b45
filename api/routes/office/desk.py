"""Who sits at the office desk: the session, its forms, and what is said after a change."""

from __future__ import annotations

import base64
import hmac
import json
import secrets
from contextlib import suppress
from dataclasses import dataclass
from hashlib import sha256
from typing import Annotated, Any

from fastapi import Depends, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from api.deps import MeansDep, UowDep, WriterDep
from api.domain.errors import NotAllowed, NotSignedIn, Unavailable
from api.domain.people import Person
from api.routes.cookies import cookie, drop_cookie, set_cookie
from api.routes.office.forms import Form, read_form
from api.routes.office.page import csrf_token, page
from api.use_cases import inbox, sessions
from api.use_cases.ports import Means, UnitOfWork

SESSION_COOKIE = "clampbook_session"
VISIT_COOKIE = "clampbook_visit"
FLASH_COOKIE = "clampbook_said"


@dataclass(frozen=True)
class Desk:
    """One request of one person, with what a use case needs."""

    request: Request
    uow: UnitOfWork
    means: Means
    person: Person
    token: str

    def show(self, template: str, here: str, status: int = 200, **context: Any) -> HTMLResponse:
        said = read_said(self.request, self.token)
        answer = page(
            self.request,
            template,
            person=self.person,
            secret=self.token,
            here=here,
            flash=said,
            status=status,
            to_settle=self._to_settle(),
            **context,
        )
        if said:
            drop_cookie(self.request, answer, FLASH_COOKIE)
        return answer

    def _to_settle(self) -> int:
        """The number in the menu; a page is shown without it while nothing can be read."""
        try:
            return inbox.count(self.uow, self.means)
        except Unavailable:
            return 0

    def go(self, href: str, said: str) -> Response:
        """To `href` by GET, where `said` is shown once."""
        answer = RedirectResponse(href, 303)
        keep_said(self.request, answer, said, self.token)
        return answer


def secret_of(request: Request) -> str:
    """What this browser's form tokens hang on: its session, or its visit before signing in."""
    return session_token(request) or cookie(request, VISIT_COOKIE)


def session_token(request: Request) -> str:
    """The token of this browser's office session; empty where it has none."""
    return cookie(request, SESSION_COOKIE)


def new_visit() -> str:
    return secrets.token_urlsafe(24)


def keep_said(request: Request, answer: Response, said: str, secret: str) -> None:
    text = base64.urlsafe_b64encode(json.dumps(said).encode()).decode()
    value = f"{_seal(text, secret)}.{text}"
    set_cookie(request, answer, FLASH_COOKIE, value, max_age_s=60)


def read_said(request: Request, secret: str) -> str:
    """The message kept for this session; one sealed by nobody we know says nothing."""
    seal, _, text = cookie(request, FLASH_COOKIE).partition(".")
    if (
        not secret
        or not text
        or not hmac.compare_digest(seal.encode(), _seal(text, secret).encode())
    ):
        return ""
    return str(json.loads(base64.urlsafe_b64decode(text)))


def _seal(text: str, secret: str) -> str:
    return hmac.new(secret.encode(), text.encode(), sha256).hexdigest()[:32]


async def posted_form(request: Request) -> Form:
    """The form, if it was made for this very session; where it came from is known by now."""
    form = await read_form(request)
    given = form.values.pop("csrf", "")
    secret = secret_of(request)
    if not secret or not hmac.compare_digest(given.encode(), csrf_token(secret).encode()):
        raise NotAllowed(
            "This form belongs to another sign-in, or the sign-in has ended. "
            "Load the page again, then send it once more."
        )
    return form


def seated(request: Request, uow: UowDep, writer: WriterDep, means: MeansDep) -> Desk:
    """The desk of the signed-in person; raises `NotSignedIn` otherwise."""
    token = session_token(request)
    seat = sessions.seat(uow, means, token)
    if seat is None:
        raise NotSignedIn("Sign in with your badge and password to open this page.")
    if sessions.is_to_note(seat.session, means.clock.now()):
        with suppress(Unavailable):  # a page is shown although nothing can be written
            sessions.note(writer, means, seat.session)
    request.state.person = seat.person
    return Desk(request, uow, means, seat.person, token)


DeskDep = Annotated[Desk, Depends(seated)]
Posted = Annotated[Form, Depends(posted_form)]
