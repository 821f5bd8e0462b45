"""A network between browser and server that loses, cuts and swallows, on loopback and by a seed."""

from __future__ import annotations

import contextlib
import random
import socket
import threading
from types import TracebackType
from typing import Literal, Self

CHUNK = 16_384
WAIT_S = 0.2

Mode = Literal["whole", "lossy", "half open"]


class BadNetwork:
    """Forwards a port to a server's. `whole`: all of it. `lossy`: a share of what is sent breaks its
    connection. `half open`: connections are taken and nothing comes back any more, old ones included.
    """

    def __init__(self, port: int, *, loss: float = 0.3, seed: int = 1) -> None:
        self.mode: Mode = "whole"
        self.lost = 0
        self._target = port
        self._loss = loss
        self._random = random.Random(seed)
        self._listener = socket.create_server(("127.0.0.1", 0))
        self._listener.settimeout(WAIT_S)
        self.port: int = self._listener.getsockname()[1]
        self._ending = threading.Event()
        self._threads: list[threading.Thread] = []

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def __enter__(self) -> Self:
        self._run(self._accept)
        return self

    def __exit__(
        self,
        _kind: type[BaseException] | None,
        _error: BaseException | None,
        _trace: TracebackType | None,
    ) -> None:
        self._ending.set()
        for thread in self._threads:
            thread.join()
        self._listener.close()

    def _run(self, work: object, *given: object) -> None:
        thread = threading.Thread(target=work, args=given)  # type: ignore[arg-type]
        self._threads.append(thread)
        thread.start()

    def _accept(self) -> None:
        while not self._ending.is_set():
            with contextlib.suppress(TimeoutError):
                near, _ = self._listener.accept()
                self._connect(near)

    def _connect(self, near: socket.socket) -> None:
        try:
            far = socket.create_connection(("127.0.0.1", self._target))
        except OSError:
            near.close()
            return
        ended = threading.Event()
        self._run(self._pass, near, far, ended)
        self._run(self._pass, far, near, ended)

    def _pass(self, source: socket.socket, target: socket.socket, ended: threading.Event) -> None:
        """One direction; whichever ends first closes both."""
        source.settimeout(WAIT_S)
        with source, contextlib.suppress(OSError):
            while not (self._ending.is_set() or ended.is_set()):
                try:
                    chunk = source.recv(CHUNK)
                except TimeoutError:
                    continue
                if not chunk or self._breaks():
                    break
                if self.mode != "half open":
                    target.sendall(chunk)
        ended.set()

    def _breaks(self) -> bool:
        if self.mode != "lossy" or self._random.random() >= self._loss:
            return False
        self.lost += 1
        return True
