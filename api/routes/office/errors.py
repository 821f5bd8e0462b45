"""Problems as calm pages: what is wrong, that nothing changed, and what to do now."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote, urlsplit

from fastapi import Request
from fastapi.responses import RedirectResponse, Response

from api.routes.office.desk import secret_of
from api.routes.office.page import page

TITLES = {
    400: "That could not be read",
    401: "Please sign in",
    403: "Your role does not cover this",
    404: "There is nothing here",
    405: "That page does not take this",
    408: "That took too long to arrive",
    409: "That does not fit the record as it stands",
    413: "That is too large",
    415: "That page does not take this",
    422: "That could not be read",
    429: "Too many tries",
    431: "That is too large",
    503: "The records cannot be reached just now",
}
ADVICE = {
    401: "Sign in with your badge and password; what you had typed is not stored.",
    403: "Ask a person with one of the roles named above, or sign in as one.",
    404: "It may have been typed wrong. The lists of plates and the logbook show what there is.",
    409: "Look at the record again and choose from there.",
    413: "Send a smaller file.",
    429: "Wait as long as the message says. Trying sooner makes the wait longer.",
    503: "Wait a minute and load the page again. The bench keeps working; its tablets hold their records.",
}
OTHERWISE = "Go back, correct it, and send it again."


@dataclass(frozen=True)
class Shown:
    status: int
    code: str
    title: str
    detail: str
    advice: str
    back: str | None


def render(request: Request, problem: Mapping[str, Any]) -> Response:
    """The page for an RFC 9457 problem; someone who only has to sign in is sent there."""
    status = int(problem["status"])
    if status == 401 and request.method == "GET":
        target = request.url.path + (f"?{request.url.query}" if request.url.query else "")
        return RedirectResponse(f"/sign-in?next={quote(target, safe='')}", 303)
    shown = Shown(
        status=status,
        code=str(problem.get("code", status)),
        title=TITLES.get(status, "Something went wrong here"),
        detail=str(problem.get("detail") or problem.get("title") or "No more is known."),
        advice=ADVICE.get(status, OTHERWISE if status < 500 else ADVICE[503]),
        back=own_referer(request),
    )
    return page(
        request,
        "error.html",
        person=getattr(request.state, "person", None),
        secret=secret_of(request),
        status=status,
        problem=shown,
    )


def own_referer(request: Request) -> str | None:
    """The path of the page before, when it was one of ours."""
    before = urlsplit(request.headers.get("referer", ""))
    if before.netloc != request.headers.get("host") or not before.path.startswith("/"):
        return None
    if before.path == request.url.path and request.method == "GET":
        return None
    return before.path.replace("//", "/") + (f"?{before.query}" if before.query else "")
