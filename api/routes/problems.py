"""Every failure in one shape: RFC 9457 problem details for the API, a page for people."""

from __future__ import annotations

from collections.abc import Mapping
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from starlette.exceptions import HTTPException

from api.domain import errors
from api.routes.office.errors import render

PROBLEM_JSON = "application/problem+json"
RETRY_AFTER_S = 5
# The first class that fits gives the status.
STATUS: tuple[tuple[type[errors.ClampbookError], int], ...] = (
    (errors.NotFound, 404),
    (errors.NotAllowed, 403),
    (errors.NotSignedIn, 401),
    (errors.Clash, 409),
    (errors.TooMany, 429),
    (errors.Unavailable, 503),
    (errors.BadInput, 422),
)


def install(app: FastAPI) -> None:
    app.add_exception_handler(errors.ClampbookError, _known)
    app.add_exception_handler(RequestValidationError, _invalid)
    app.add_exception_handler(HTTPException, _http)
    app.add_exception_handler(Exception, unforeseen)


def problem(status: int, code: str, detail: str, **more: Any) -> dict[str, Any]:
    """The body of RFC 9457; `more` says where, or how long to wait."""
    title = HTTPStatus(status).phrase
    return {"type": f"urn:clampbook:{code}", "title": title, "status": status, "detail": detail} | {
        "code": code,
        **more,
    }


def respond(
    request: Request, body: Mapping[str, Any], headers: Mapping[str, str] | None = None
) -> Response:
    status = int(body["status"])
    body = {**body, **_request_id(request)}
    extra = dict(headers or {})
    wait = body.get(
        "retry_after_s", RETRY_AFTER_S if status == HTTPStatus.SERVICE_UNAVAILABLE else None
    )
    if wait is not None:
        extra["Retry-After"] = str(wait)
    if not is_api(request):
        page = render(request, body)
        page.headers.update(extra)
        return page
    return JSONResponse(body, status, headers=extra, media_type=PROBLEM_JSON)


def _request_id(request: Request) -> dict[str, str]:
    """By which the log tells the same request."""
    known = getattr(request.state, "request_id", None)
    return {"request_id": known} if known else {}


def is_api(request: Request) -> bool:
    path = request.url.path
    return path == "/api" or path.startswith(("/api/", "/static/"))


async def _known(request: Request, error: Exception) -> Response:
    if not isinstance(error, errors.ClampbookError):
        raise error
    status = next((status for kind, status in STATUS if isinstance(error, kind)), 422)
    return respond(request, problem(status, error.code, error.message, **error.where))


async def _invalid(request: Request, error: Exception) -> Response:
    if not isinstance(error, RequestValidationError):
        raise error
    first = error.errors()[0]
    field = ".".join(str(part) for part in first["loc"])
    detail = f"{field}: {first['msg']}."
    return respond(request, problem(422, "bad-input", detail, field=field))


async def _http(request: Request, error: Exception) -> Response:
    if not isinstance(error, HTTPException):
        raise error
    code = HTTPStatus(error.status_code).phrase.lower().replace(" ", "-")
    detail = error.detail
    if error.status_code == HTTPStatus.NOT_FOUND:
        detail = f"There is nothing at {request.url.path[:200]}."
    elif error.status_code == HTTPStatus.METHOD_NOT_ALLOWED:
        detail = f"{request.method} is not possible here."
    return respond(request, problem(error.status_code, code, detail), error.headers)


async def unforeseen(request: Request, _error: Exception) -> Response:
    """The traceback goes to the server's log; the person learns that nothing was kept."""
    detail = "Something went wrong in the server; the change was not kept. The log says what."
    return respond(request, problem(500, "internal-error", detail))
