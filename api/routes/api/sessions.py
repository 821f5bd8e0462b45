"""Who asks the API: an enrolled tablet by its session, or a signed-in person."""

from __future__ import annotations

from typing import Annotated

from fastapi import Depends, Request

from api.deps import MeansDep, ReaderDep
from api.domain.errors import NotAllowed, NotSignedIn
from api.domain.records import Tablet
from api.routes.cookies import cookie
from api.routes.office.desk import session_token
from api.use_cases import crew, tablets

TABLET_COOKIE = "clampbook_tablet"


def session_of_tablet(request: Request, uow: ReaderDep, means: MeansDep) -> Tablet:
    """Any tablet with a session, even a revoked one; raises `NotSignedIn` (`not-enrolled`)."""
    tablet = tablets.who(uow, means, cookie(request, TABLET_COOKIE))
    if tablet is None:
        raise tablets.not_enrolled()
    request.state.tablet = tablet
    return tablet


def working_tablet(tablet: SenderDep) -> Tablet:
    """A tablet that is not revoked; raises `NotAllowed` (`tablet-revoked`)."""
    if tablets.state_of(tablet) == "revoked":
        raise NotAllowed(
            "This tablet was revoked. It may still send what it holds; it gets nothing new.",
            code="tablet-revoked",
        )
    return tablet


def reader_of_shop(request: Request, uow: ReaderDep, means: MeansDep) -> None:
    """Lets a tablet in use and anyone signed in to the office read; raises `NotSignedIn`."""
    if crew.who(uow, means, session_token(request)) is not None:
        return
    tablet = tablets.who(uow, means, cookie(request, TABLET_COOKIE))
    if tablet is None:
        raise NotSignedIn("Sign in to the office, or read this from an enrolled tablet.")
    working_tablet(tablet)


SenderDep = Annotated[Tablet, Depends(session_of_tablet)]
TabletDep = Annotated[Tablet, Depends(working_tablet)]
ReaderOfShop = Depends(reader_of_shop)
