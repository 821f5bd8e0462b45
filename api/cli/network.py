"""Listening on the shop's address, and ending within seconds when asked to."""

from __future__ import annotations

import errno
import io
import socket

import segno
import uvicorn
from fastapi import FastAPI

from api.backing import locks
from api.cli import connections
from api.cli.output import console, say, stop
from api.operating import EndingServer, install_log
from api.settings import Settings

STOP_WITHIN_S = 3
RESTORING = "A backup is being put back into this folder. Wait for it to end, then start again."
WAITING_CONNECTIONS = 128
EVERY_ADDRESS = {"", "0.0.0.0", "::"}  # noqa: S104


def listen(settings: Settings) -> socket.socket:
    """A socket bound to the address of the settings; ends the command when it is not to be had."""
    listener = None
    try:
        family, kind, protocol, _, address = socket.getaddrinfo(
            settings.host, settings.port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
        )[0]
        listener = socket.socket(family, kind, protocol)
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind(address)
        listener.listen(WAITING_CONNECTIONS)
    except OSError as error:
        if listener is not None:
            listener.close()
        stop(_refused(error, settings))
    return listener


def run(app: FastAPI, listener: socket.socket) -> None:
    """Serve until SIGINT or SIGTERM; open streams do not hold the end up."""
    config = uvicorn.Config(
        app,
        log_config=None,
        access_log=False,
        proxy_headers=False,
        **connections.OPTIONS,
        timeout_graceful_shutdown=STOP_WITHIN_S,
    )
    settings: Settings = app.state.wiring.settings
    install_log(settings.log)
    try:
        with locks.shared(settings.data / locks.SERVING, RESTORING):
            EndingServer(config).run_to_the_end(listener)
    except KeyboardInterrupt:
        console.print("\nStopped.")


def address_of(settings: Settings) -> str:
    """The address to type into a browser."""
    host = settings.host
    if host in EVERY_ADDRESS:
        host = _own_address()
    return f"http://{f'[{host}]' if ':' in host else host}:{settings.port}"


def print_address(settings: Settings) -> None:
    address = address_of(settings)
    picture = io.StringIO()
    segno.make(f"{address}/bench", micro=False).terminal(picture, compact=True, border=2)
    say(f"\nBench   {address}/bench\nOffice  {address}/")
    say(picture.getvalue())
    if settings.host not in {"127.0.0.1", "::1", "localhost"}:
        say(
            "A browser on another machine keeps working without this server only over https: put a "
            "server that holds a certificate in front, or open the bench on this machine."
        )


def _own_address() -> str:
    try:
        found = socket.gethostbyname(socket.gethostname())
    except OSError:
        return "127.0.0.1"
    return found


def _refused(error: OSError, settings: Settings) -> str:
    place = f"{settings.host}:{settings.port}"
    if error.errno == errno.EADDRINUSE:
        other = settings.port + 1 if settings.port < 65535 else 8000
        return (
            f"Another program uses {place} already. "
            f"Stop it, or choose another port, for example --port {other}."
        )
    if error.errno == errno.EACCES:
        return f"This account may not listen on {place}. Choose a port above 1023 with --port."
    if error.errno == errno.EADDRNOTAVAIL or isinstance(error, socket.gaierror):
        return (
            f"{settings.host} is not an address of this machine. "
            "Use --host 127.0.0.1 for this machine alone, or --host 0.0.0.0 for the shop's network."
        )
    return f"Cannot listen on {place}: {error.strerror}. Choose another with --host and --port."
