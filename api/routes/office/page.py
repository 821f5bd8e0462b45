"""The frame of every office page: templates, menu, cautions and the build in the foot."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from api.domain.cautions import CAUTIONS
from api.domain.people import Action, Person, may
from api.paths import share
from api.routes.office.formatting import FILTERS, zone_name


@dataclass(frozen=True)
class MenuItem:
    name: str
    href: str


MENU = [
    MenuItem("Bench", "/bench"),
    MenuItem("Plates", "/plates"),
    MenuItem("Logbook", "/logbook"),
    MenuItem("To settle", "/to-settle"),
    MenuItem("Stores", "/stores"),
    MenuItem("Crew", "/crew"),
    MenuItem("System", "/system"),
]


@lru_cache(maxsize=1)
def environment() -> Environment:
    """Jinja with escaping on; a name a template does not know is an error, not a blank."""
    made = Environment(
        loader=FileSystemLoader(share("web/templates")),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters.update(FILTERS)
    return made


@lru_cache(maxsize=1)
def build() -> str:
    """The hash of the built front end, as the bench reports it; empty before a build."""
    try:
        return str(json.loads((share("web/dist") / "build.json").read_text())["build"])
    except (OSError, ValueError, KeyError):
        return ""


def csrf_token(secret: str) -> str:
    """The form token of whoever holds `secret`, the session's or visit's own random cookie."""
    return hashlib.sha256(f"clampbook form {secret}".encode()).hexdigest()


def page(
    request: Request,
    template: str,
    *,
    person: Person | None,
    secret: str,
    here: str = "",
    flash: str = "",
    status: int = 200,
    to_settle: int = 0,
    **context: Any,
) -> HTMLResponse:
    """The rendered template with everything the frame needs."""
    token = csrf_token(secret)
    field = Markup('<input type="hidden" name="csrf" value="{}">').format(token)
    html = (
        environment()
        .get_template(template)
        .render(
            request=request,
            person=person,
            can={action.name.lower(): may(person, action) for action in Action},
            here=here,
            menu=MENU,
            flash=flash,
            to_settle=to_settle,
            read_only=getattr(request.state, "read_only", ""),
            csrf_field=lambda: field,
            cautions=CAUTIONS,
            build=build(),
            zone=zone_name(),
            now=dt.datetime.now(dt.UTC),
            **context,
        )
    )
    return HTMLResponse(html, status, headers={"Cache-Control": "no-store"})
