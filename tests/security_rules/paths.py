"""Every route of the application, as an address that a request can go to."""

from __future__ import annotations

import re
import tempfile
from pathlib import Path

from fastapi.routing import iter_route_contexts

from api.app import create_app
from api.settings import Settings

SAFE = {"GET", "HEAD", "OPTIONS"}
FILLED_IN = {
    "code": "SAD-20",
    "revision": "B",
    "serial": "SAD-20-001",
    "plate": "SAD-20-001",
    "badge": "B-02",
    "kind": "tool",
    "key": "T-03",
    "setup": "01920000-0000-7000-8000-00000000ffff",
    "setup_id": "01920000-0000-7000-8000-00000000ffff",
    "tablet": "tab-1",
}


def every_route() -> list[tuple[str, str]]:
    """(method, path) of all that is wired, with places filled in."""
    with tempfile.TemporaryDirectory() as folder:
        app = create_app(Settings(data=Path(folder), database_url=""))
    return sorted(
        (method, filled_in(str(route.path)))
        for route in iter_route_contexts(app.routes)
        for method in getattr(route, "methods", None) or ()
    )


def filled_in(path: str) -> str:
    return re.sub(r"\{(\w+)(:\w+)?\}", lambda found: FILLED_IN.get(found.group(1), "1"), path)


def reads() -> list[str]:
    return [path for method, path in every_route() if method == "GET"]


def changes() -> list[tuple[str, str]]:
    return [(method, path) for method, path in every_route() if method not in SAFE]
