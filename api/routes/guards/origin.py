"""Changes come from our own pages or from a program, never from a page of another site."""

from __future__ import annotations

from urllib.parse import urlsplit

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from api.routes.guards.refusing import changes, refuse

JSON = "application/json"
FORMS = ("application/x-www-form-urlencoded", "multipart/form-data")


class OwnOrigin:
    """Also refuses a body of another kind than the route reads, as a foreign page could send it."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if not changes(scope):
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        if not is_own(headers, scope["scheme"]):
            detail = "This was sent from another site. Open the page here and send it again."
            await refuse(scope, receive, send, 403, "other-origin", detail)
        elif not _fits(headers, scope["path"]):
            detail = (
                f"A body sent here is {_wanted(scope['path'])}, as its Content-Type has to say."
            )
            await refuse(scope, receive, send, 415, "other-media-type", detail)
        elif headers.get("content-encoding", "identity").strip().lower() != "identity":
            detail = "A packed body is not taken; send it without Content-Encoding."
            await refuse(scope, receive, send, 415, "packed-body", detail)
        else:
            await self.app(scope, receive, send)


def is_own(headers: Headers, scheme: str) -> bool:
    """Whether the browser says that one of our own pages sent this; a program says nothing."""
    return headers.get("sec-fetch-site", "same-origin") in ("same-origin", "none") and _is_here(
        headers.get("origin"), headers.get("host"), scheme
    )


def _is_here(origin: str | None, host: str | None, scheme: str) -> bool:
    """A page that came over https never trusts one of the same name that did not."""
    if origin is None:
        return True
    try:
        parts = urlsplit(origin)
    except ValueError:
        return False
    return parts.netloc == host and parts.scheme in ("https", scheme)


def _fits(headers: Headers, path: str) -> bool:
    kind = headers.get("content-type", "").partition(";")[0].strip().lower()
    if not kind:
        return not _has_body(headers)
    return kind in _kinds(path)


def _has_body(headers: Headers) -> bool:
    return "transfer-encoding" in headers or headers.get("content-length", "0") != "0"


def _kinds(path: str) -> tuple[str, ...]:
    return (JSON,) if path.startswith("/api/") else FORMS


def _wanted(path: str) -> str:
    return " or ".join(_kinds(path))
