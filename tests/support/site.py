"""The application on a real socket inside the test's own process."""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager

import httpx
import uvicorn
from fastapi import FastAPI

from api.cli import connections
from tests.support.net import PATIENCE_S, wait_until


@contextmanager
def serving(app: FastAPI) -> Iterator[str]:
    """The address of `app`, served until the block ends."""
    listener = socket.create_server(("127.0.0.1", 0))
    port = listener.getsockname()[1]
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        timeout_graceful_shutdown=2,
        proxy_headers=False,
        **connections.OPTIONS,
    )
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
    thread.start()
    try:
        wait_until(lambda: server.started, what="start of the application")
        yield f"http://127.0.0.1:{port}"
    finally:
        server.should_exit = True
        thread.join(PATIENCE_S)
        listener.close()


@contextmanager
def client_of(app: FastAPI) -> Iterator[httpx.Client]:
    with serving(app) as address, httpx.Client(base_url=address, timeout=PATIENCE_S) as client:
        yield client
