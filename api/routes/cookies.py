"""Cookies: bound to this host over https, and out of reach of scripts."""

from __future__ import annotations

from typing import Literal

from fastapi import Request, Response


def is_https(request: Request) -> bool:
    return request.url.scheme == "https"


def cookie(request: Request, name: str) -> str:
    """Its value; empty where there is none."""
    return request.cookies.get(cookie_name(request, name), "")


def cookie_name(request: Request, name: str) -> str:
    """Over https the prefix keeps other hosts and plain http from setting it."""
    return f"__Host-{name}" if is_https(request) else name


def set_cookie(
    request: Request,
    answer: Response,
    name: str,
    value: str,
    *,
    max_age_s: int | None = None,
    samesite: Literal["lax", "strict"] = "lax",
) -> None:
    """`lax` where a link from elsewhere may lead to a page; forms of other sites never have it."""
    answer.set_cookie(
        cookie_name(request, name),
        value,
        max_age=max_age_s,
        httponly=True,
        samesite=samesite,
        secure=is_https(request),
    )


def drop_cookie(request: Request, answer: Response, name: str) -> None:
    answer.delete_cookie(
        cookie_name(request, name), httponly=True, samesite="lax", secure=is_https(request)
    )
