"""Listening on the shop's address, and ending within seconds when asked to."""

from __future__ import annotations

import asyncio
import errno
import logging
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import uvicorn
from fastapi import FastAPI
from starlette.concurrency import run_in_threadpool

from api.backing import locks
from api.cli import connections
from api.cli.output import console, stop
from api.domain.errors import Unavailable
from api.operating import EndingServer, install_log
from api.routes.welcome import Welcome, welcome_app
from api.security.authority import Certificate
from api.settings import Settings

STOP_WITHIN_S = 2
WELCOME_STOPS_WITHIN_S = 1
LOOK_EVERY_S = 60
RESTORING = "A backup is being put back into this folder. Wait for it to end, then start again."
WAITING_CONNECTIONS = 128

log = logging.getLogger("clampbook.certificate")


@dataclass(frozen=True)
class Doors:
    """The sockets people come in by; the plain one for new devices only beside https."""

    main: socket.socket
    welcome: socket.socket | None


@contextmanager
def listen(settings: Settings) -> Iterator[Doors]:
    """Sockets bound to the address of the settings; ends the command when they are not to be had."""
    with _bound(settings.host, settings.port, "port", "--port") as main:
        if not (settings.over_https and settings.welcome_port):
            yield Doors(main, None)
            return
        other = "port for the welcome page", "CLAMPBOOK_WELCOME_PORT"
        with _bound(settings.host, settings.welcome_port, *other) as welcome:
            yield Doors(main, welcome)


def run(
    app: FastAPI,
    doors: Doors,
    certificate: Certificate | None = None,
    told: Welcome | None = None,
) -> None:
    """Serve until SIGINT or SIGTERM; open streams do not hold the end up."""
    settings: Settings = app.state.wiring.settings
    install_log(settings.log)
    try:
        with locks.shared(settings.data / locks.SERVING, RESTORING), _welcoming(doors, told):
            EndingServer(config_of(app, settings, certificate)).run_to_the_end(doors.main)
    except KeyboardInterrupt:
        console.print("\nStopped.")


def config_of(
    app: FastAPI,
    settings: Settings,
    certificate: Certificate | None = None,
    look_every_s: float = LOOK_EVERY_S,
) -> uvicorn.Config:
    """With encryption if there is a certificate; what a proxy says counts only from its address."""
    more: dict[str, Any] = {"proxy_headers": False}
    if settings.tls_kind == "proxy":
        more = {"proxy_headers": True, "forwarded_allow_ips": settings.proxy_address}
    if certificate is not None:
        context = certificate.context
        more["loop"] = "api.cli.connections:PromptLoop"
        more["ssl_context_factory"] = lambda *_: context
        more["callback_notify"] = Renewal(certificate)
        more["timeout_notify"] = look_every_s
    return uvicorn.Config(
        app,
        log_config=None,
        access_log=False,
        **connections.OPTIONS,
        **more,
        timeout_graceful_shutdown=STOP_WITHIN_S,
    )


class Renewal:
    """Looks now and then whether a newer certificate is due or there; what is in use goes on if not."""

    def __init__(self, certificate: Certificate) -> None:
        self.certificate = certificate
        self._looking: asyncio.Task[None] | None = None
        self._said = ""

    async def __call__(self) -> None:
        """Never waits itself: the server asks from the loop that also sees its end coming."""
        if self._looking is None or self._looking.done():
            self._looking = asyncio.create_task(self._look())

    async def _look(self) -> None:
        try:
            if await run_in_threadpool(self.certificate.prepare):
                self.certificate.take_up()
                log.info("a new certificate is in use")
            self._said = ""
        except (Unavailable, OSError) as problem:
            said = problem.message if isinstance(problem, Unavailable) else str(problem)
            if said != self._said:
                log.warning("the certificate stays as it is: %s", said)
            self._said = said


@contextmanager
def _welcoming(doors: Doors, told: Welcome | None) -> Iterator[None]:
    """The welcome page on its own thread: it shares nothing with the shop."""
    if doors.welcome is None or told is None:
        yield
        return
    config = uvicorn.Config(
        welcome_app(told),
        log_config=None,
        access_log=False,
        proxy_headers=False,
        **connections.OPTIONS,
        timeout_graceful_shutdown=WELCOME_STOPS_WITHIN_S,
    )
    server = uvicorn.Server(config)
    sockets = {"sockets": [doors.welcome]}
    thread = threading.Thread(target=server.run, kwargs=sockets, name="welcome", daemon=True)
    thread.start()
    try:
        yield
    finally:
        server.should_exit = True
        thread.join(WELCOME_STOPS_WITHIN_S)


@contextmanager
def _bound(host: str, port: int, kind: str, option: str) -> Iterator[socket.socket]:
    listener = None
    try:
        family, form, protocol, _, address = socket.getaddrinfo(
            host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
        )[0]
        listener = socket.socket(family, form, protocol)
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind(address)
        listener.listen(WAITING_CONNECTIONS)
    except OSError as error:
        if listener is not None:
            listener.close()
        stop(_refused(error, host, port, kind, option))
    with listener:
        yield listener


def _refused(error: OSError, host: str, port: int, kind: str, option: str) -> str:
    place = f"{host}:{port}"
    if error.errno == errno.EADDRINUSE:
        other = port + 1 if port < 65535 else 8000
        return (
            f"Another program uses {place} already. "
            f"Stop it, or choose another {kind}, for example {option} {other}."
        )
    if error.errno == errno.EACCES:
        return f"This account may not listen on {place}. Choose a {kind} above 1023 with {option}."
    if error.errno == errno.EADDRNOTAVAIL or isinstance(error, socket.gaierror):
        return (
            f"{host} is not an address of this machine. "
            "Use --host 127.0.0.1 for this machine alone, or --host 0.0.0.0 for the shop's network."
        )
    return f"Cannot listen on {place}: {error.strerror}. Choose another with --host and {option}."
