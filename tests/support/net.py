"""Ports and waiting, without guessing how long anything takes."""

import secrets
import socket
import ssl
import time
from collections.abc import Callable
from typing import Any

import httpx

# How long anything may take on a busy machine before it counts as hung.
PATIENCE_S = 60
# Below the ports that the system deals out itself: a stopped server finds its own free again.
PORTS = range(20_000, 32_000)
# Made once: a context reads every certificate of the machine, and a test asks a hundred times.
TRUST = ssl.create_default_context()


def free_port() -> int:
    """A loopback port nobody uses."""
    while True:
        port = secrets.choice(PORTS)
        with socket.socket() as probe:
            try:
                probe.bind(("127.0.0.1", port))
            except OSError:
                continue
        return port


def wait_until(condition: Callable[[], bool], *, within_s: float = PATIENCE_S, what: str) -> None:
    """Return as soon as the condition holds; fail by name when it never does."""
    give_up = time.monotonic() + within_s
    while not condition():
        if time.monotonic() > give_up:
            raise TimeoutError(f"{what}: not within {within_s:g} s")
        time.sleep(0.02)


def get(url: str, **more: Any) -> httpx.Response:
    return httpx.get(url, timeout=PATIENCE_S, **{"verify": TRUST, **more})


def post(url: str, body: object, **more: Any) -> httpx.Response:
    return httpx.post(url, json=body, timeout=PATIENCE_S, **{"verify": TRUST, **more})
