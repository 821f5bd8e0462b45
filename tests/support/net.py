"""Ports and waiting, without guessing how long anything takes."""

import socket
import time
from collections.abc import Callable


def free_port() -> int:
    """A loopback port nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def wait_until(condition: Callable[[], bool], *, within_s: float, what: str) -> None:
    """Return as soon as the condition holds; fail by name when it never does."""
    give_up = time.monotonic() + within_s
    while not condition():
        if time.monotonic() > give_up:
            raise TimeoutError(f"{what}: not within {within_s:g} s")
        time.sleep(0.02)
