"""Rendering of the two pages."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from api.paths import share


@lru_cache(maxsize=1)
def _environment() -> Environment:
    return Environment(
        loader=FileSystemLoader(share("web/templates")),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def show(name: str, **context: Any) -> HTMLResponse:
    return HTMLResponse(_environment().get_template(f"welcome/{name}").render(**context))
