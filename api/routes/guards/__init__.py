"""What stands in front of every route: limits on what comes in, headers on what goes out."""

from __future__ import annotations

from fastapi import FastAPI

from api.routes.guards.body import BodyGuard
from api.routes.guards.canonical import CanonicalOrigin
from api.routes.guards.head import HeadGuard
from api.routes.guards.headers import LastResort, SecurityHeaders
from api.routes.guards.limits import limits
from api.routes.guards.origin import OwnOrigin
from api.routes.guards.rates import RateGuard

__all__ = ["install"]


def install(app: FastAPI, most_body_bytes: int, sign_ins_per_min: int, origin: str = "") -> None:
    """The innermost guard is added first; the headers are on every answer of the others."""
    app.add_middleware(BodyGuard, most_bytes=most_body_bytes)
    app.add_middleware(RateGuard, limits=limits(sign_ins_per_min))
    app.add_middleware(OwnOrigin)
    if origin:
        app.add_middleware(CanonicalOrigin, origin=origin)
    app.add_middleware(HeadGuard)
    app.add_middleware(LastResort)
    app.add_middleware(SecurityHeaders)
