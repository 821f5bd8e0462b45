"""A small application behind the server's own configuration, and what its connections are shown."""

from __future__ import annotations

import socket
import ssl
import threading
from collections.abc import Iterator
from contextlib import contextmanager

import uvicorn
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from fastapi import FastAPI

from api.cli.network import config_of
from api.security.authority import Certificate
from api.security.tls.certificates import Pair
from api.settings import Settings
from tests.support.net import PATIENCE_S, wait_until


@contextmanager
def serving(certificate: Certificate, settings: Settings) -> Iterator[int]:
    """A small application behind the server's own configuration, looking ever so often."""
    app = FastAPI()
    app.get("/")(lambda: {"here": True})
    listener = socket.create_server(("127.0.0.1", 0))
    config = config_of(app, settings, certificate, look_every_s=0.05)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
    thread.start()
    try:
        wait_until(lambda: server.started, what="start")
        yield listener.getsockname()[1]
    finally:
        server.should_exit = True
        thread.join(PATIENCE_S)
        listener.close()


def trusting(authority: Pair) -> ssl.SSLContext:
    made = ssl.create_default_context()
    made.load_verify_locations(cadata=authority.certificate.public_bytes(Encoding.PEM).decode())
    return made


def shown(port: int, context: ssl.SSLContext) -> int:
    """The serial number of the leaf that a new connection is shown, verified."""
    with (
        socket.create_connection(("127.0.0.1", port), PATIENCE_S) as plain,
        context.wrap_socket(plain, server_hostname="clamp.test") as encrypted,
    ):
        der = encrypted.getpeercert(binary_form=True)
    assert der is not None
    return x509.load_der_x509_certificate(der).serial_number


def serial(certificate: x509.Certificate | None) -> int:
    assert certificate is not None
    return certificate.serial_number
