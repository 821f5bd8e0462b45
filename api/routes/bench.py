"""The bench: its page, manifest and worker, and the page that rescues a tablet's records."""

from __future__ import annotations

import json
from typing import Any

from fastapi import APIRouter
from fastapi.responses import FileResponse, HTMLResponse, JSONResponse, Response
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from api.domain.errors import Unavailable
from api.paths import share

router = APIRouter(include_in_schema=False)

FRESH = {"Cache-Control": "no-cache"}
MANIFEST = {
    "id": "/bench",
    "name": "Clampbook bench",
    "short_name": "Bench",
    "start_url": "/bench",
    "scope": "/bench",
    "display": "fullscreen",
    "orientation": "any",
    "background_color": "#F6F4EE",
    "theme_color": "#F6F4EE",
    "icons": [
        {
            "src": "/static/icons/bench.svg",
            "sizes": "any",
            "type": "image/svg+xml",
            "purpose": "any",
        },
        {"src": "/static/icons/bench-192.png", "sizes": "192x192", "type": "image/png"},
        {"src": "/static/icons/bench-512.png", "sizes": "512x512", "type": "image/png"},
    ],
}


@router.get("/bench", response_class=HTMLResponse)
def bench_page() -> HTMLResponse:
    return _page("bench/bench.html")


@router.get("/recover", response_class=HTMLResponse)
def recover_page() -> HTMLResponse:
    """Works without the worker and without the bench's own script."""
    return _page("bench/recover.html")


@router.get("/bench.webmanifest")
def manifest() -> JSONResponse:
    return JSONResponse(MANIFEST, media_type="application/manifest+json", headers=FRESH)


@router.get("/sw.js")
def worker() -> Response:
    """The worker comes from the root path, so that its scope covers the bench."""
    path = share("web/dist") / "sw.js"
    if not path.is_file():
        raise Unavailable(
            "The front end has not been built. Run 'python web/build.py' and reload this page."
        )
    headers = {**FRESH, "Service-Worker-Allowed": "/"}
    return FileResponse(path, media_type="text/javascript", headers=headers)


def _page(name: str) -> HTMLResponse:
    environment = Environment(
        loader=FileSystemLoader(share("web/templates")), autoescape=True, undefined=StrictUndefined
    )
    html = environment.get_template(name).render(build=_build())
    return HTMLResponse(html, headers=FRESH)


def _build() -> str:
    path = share("web/dist") / "build.json"
    if not path.is_file():
        raise Unavailable(
            "The front end has not been built. Run 'python web/build.py' and reload this page."
        )
    facts: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return str(facts["build"])
