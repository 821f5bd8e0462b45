"""The plain-http door beside the encrypted one: what a new device needs, and the way on."""

from __future__ import annotations

import textwrap
from base64 import b64encode
from dataclasses import dataclass

from fastapi import FastAPI, Request
from fastapi.responses import FileResponse, HTMLResponse, RedirectResponse, Response
from starlette.exceptions import HTTPException

from api.paths import share
from api.routes.guards.head import HeadGuard
from api.routes.guards.headers import LastResort, SecurityHeaders
from api.routes.office.plates.qr import qr_svg
from api.routes.welcome.pages import show

CERTIFICATE = "application/x-x509-ca-cert"
STYLE = "welcome.css"
FONTS = "fonts"
# Which steps stand open: the first word that the browser says of its system.
SYSTEMS = (
    ("android", "Android"),
    ("apple", "iPad"),
    ("apple", "iPhone"),
    ("macos", "Macintosh"),
    ("windows", "Windows"),
    ("linux", "Linux"),
)


@dataclass(frozen=True)
class Welcome:
    """What the page tells; without an authority of the shop's own there is nothing to install."""

    origin: str
    address: str
    certificate: bytes = b""
    called: str = ""
    fingerprint: str = ""
    limited_to: tuple[str, ...] = ()


def welcome_app(told: Welcome) -> FastAPI:
    """Keeps nothing, sets no cookie, and never sends on to a name that a request brought along."""
    app = FastAPI(openapi_url=None, docs_url=None, redoc_url=None, redirect_slashes=False)
    app.add_middleware(HeadGuard)
    app.add_middleware(LastResort)
    app.add_middleware(SecurityHeaders)
    if told.certificate:
        _offer(app, told)

    @app.get("/static/{name:path}")
    def style(name: str) -> FileResponse:
        dist = share("web/dist")
        fonts = {f"{FONTS}/{path.name}" for path in (dist / FONTS).glob("*.woff2")}
        if name != STYLE and name not in fonts:
            raise HTTPException(404, "The welcome page has no such file.")
        return FileResponse(dist / name)

    @app.get("/{path:path}")
    def elsewhere(path: str) -> RedirectResponse:
        if told.certificate and path != "ready":
            return RedirectResponse("/", 307)
        return RedirectResponse(f"{told.origin}/{path.lstrip('/')}", 307)

    return app


def _offer(app: FastAPI, told: Welcome) -> None:
    pem = _pem(told.certificate)

    @app.get("/", response_class=HTMLResponse)
    def welcome(request: Request) -> HTMLResponse:
        code = qr_svg(told.address, f"QR code of {told.address}")
        agent = request.headers.get("user-agent", "")
        return show("welcome.html", told=told, code=code, system=system_of(agent))

    @app.get("/authority.crt")
    def binary() -> Response:
        """As tablets, phones and desktop systems take it."""
        return _file(told.certificate, "crt")

    @app.get("/authority.pem")
    def text() -> Response:
        """As programs and certificate folders take it."""
        return _file(pem, "pem")


def system_of(agent: str) -> str:
    return next((name for name, word in SYSTEMS if word in agent), "")


def _file(content: bytes, ending: str) -> Response:
    named = f'attachment; filename="clampbook-authority.{ending}"'
    return Response(content, media_type=CERTIFICATE, headers={"Content-Disposition": named})


def _pem(der: bytes) -> bytes:
    lines = textwrap.wrap(b64encode(der).decode(), 64)
    framed = ["-----BEGIN CERTIFICATE-----", *lines, "-----END CERTIFICATE-----", ""]
    return "\n".join(framed).encode()
