"""Signing in to the office with badge and password, and out again."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from api.deps import MeansDep, UowDep
from api.domain.errors import NotSignedIn, TooMany
from api.routes.cookies import drop_cookie, set_cookie
from api.routes.office import desk
from api.routes.office.desk import Posted
from api.routes.office.forms import Form
from api.routes.office.page import page
from api.use_cases import crew, sessions

router = APIRouter()
HOME = "/plates"
SESSION_S = int(sessions.LONGEST.total_seconds())


@router.get("/")
def door(request: Request, uow: UowDep, means: MeansDep) -> Response:
    token = desk.session_token(request)
    return RedirectResponse(HOME if crew.who(uow, means, token) else "/sign-in", 303)


@router.get("/sign-in")
def sign_in_page(request: Request) -> HTMLResponse:
    return _sheet(request, Form({"next": request.query_params.get("next", "")}))


@router.post("/sign-in")
def sign_in(request: Request, uow: UowDep, means: MeansDep, form: Posted) -> Response:
    try:
        given = form.text("badge"), form.values.get("password", "")
        opened = crew.sign_in(uow, means, *given, before=desk.session_token(request))
    except (NotSignedIn, TooMany) as problem:
        form.refuse("", problem.message)
        answer = _sheet(request, form, 429 if isinstance(problem, TooMany) else 401)
        if isinstance(problem, TooMany) and "retry_after_s" in problem.where:
            answer.headers["Retry-After"] = str(problem.where["retry_after_s"])
        return answer
    onward = RedirectResponse(own_path(form.text("next")), 303)
    set_cookie(request, onward, desk.SESSION_COOKIE, opened.token, max_age_s=SESSION_S)
    drop_cookie(request, onward, desk.VISIT_COOKIE)
    return onward


@router.post("/sign-out")
def sign_out(request: Request, uow: UowDep, means: MeansDep, form: Posted) -> Response:
    crew.sign_out(uow, means, desk.session_token(request))
    answer = RedirectResponse("/sign-in", 303)
    drop_cookie(request, answer, desk.SESSION_COOKIE)
    visit = desk.new_visit()
    set_cookie(request, answer, desk.VISIT_COOKIE, visit)
    desk.keep_said(request, answer, "You are signed out.", visit)
    return answer


def own_path(wanted: str) -> str:
    """The path to go on to; anything that could leave this server leads home."""
    if not wanted.startswith("/") or wanted.startswith("//") or "\\" in wanted or len(wanted) > 500:
        return HOME
    return wanted if wanted.isprintable() and not wanted.startswith("/sign-") else HOME


def _sheet(request: Request, form: Form, status: int = 200) -> HTMLResponse:
    secret = desk.secret_of(request)
    made = "" if secret else desk.new_visit()
    said = desk.read_said(request, secret)
    answer = page(
        request,
        "sign-in.html",
        person=None,
        secret=secret or made,
        flash=said,
        status=status,
        form=form,
    )
    if made:
        set_cookie(request, answer, desk.VISIT_COOKIE, made)
    if said:
        drop_cookie(request, answer, desk.FLASH_COOKIE)
    return answer
