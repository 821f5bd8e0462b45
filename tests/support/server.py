"""A real `clampbook` process that tests may stop, kill and start again on the same port."""

import os
import signal
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import ClassVar

import httpx

from tests.support.checkout import ROOT
from tests.support.net import TRUST, free_port, wait_until

START_WITHIN_S = 120
STOP_WITHIN_S = 15


class Server:
    """`clampbook serve` (or `demo`) on a loopback port with its own data folder."""

    # Where the shop behind an address lies, for tests that know only the address.
    folders: ClassVar[dict[str, Path]] = {}

    def __init__(
        self,
        data: Path,
        port: int | None = None,
        *,
        command: str = "serve",
        database_url: str = "",
        environment: Mapping[str, str] | None = None,
        checkout: Path = ROOT,
    ) -> None:
        self.data = data
        self.port = port or free_port()
        self.command = command
        self.checkout = checkout
        self.environment = {
            **os.environ,
            "CLAMPBOOK_SIGN_INS_PER_MIN": "600",  # all tests of a shop come from one address
            **(environment or {}),
            "CLAMPBOOK_DATABASE_URL": database_url,
        }
        self._process: subprocess.Popen[bytes] | None = None
        self.folders[self.url] = data

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def log(self) -> Path:
        """What the process printed, over all its starts."""
        return self.data.with_name(f"{self.data.name}.log")

    @property
    def pid(self) -> int:
        if self._process is None:
            raise RuntimeError("The server does not run.")
        return self._process.pid

    def start(self) -> "Server":
        """Start and return once `/api/health` answers."""
        words = [self.command, "--data", str(self.data.absolute()), "--port", str(self.port)]
        with self.log.open("ab") as log:
            self._process = subprocess.Popen(
                [sys.executable, "-m", "api", *words],
                cwd=self.checkout,
                env=self.environment,
                stdout=log,
                stderr=log,
            )
        try:
            wait_until(self._healthy, within_s=START_WITHIN_S, what=f"health of {self.url}")
        except BaseException:
            self.kill()
            raise
        return self

    def stop(self) -> int:
        """End it the polite way (SIGTERM) and return the exit status."""
        return self._end(signal.SIGTERM)

    def kill(self) -> int:
        """End it as a power cut would (SIGKILL)."""
        return self._end(signal.SIGKILL)

    def _end(self, sign: signal.Signals) -> int:
        process, self._process = self._process, None
        if process is None:
            return 0
        process.send_signal(sign)
        return process.wait(STOP_WITHIN_S)

    def _healthy(self) -> bool:
        if self._process is None or self._process.poll() is not None:
            raise RuntimeError(f"The server ended before it was ready:\n{self.log.read_text()}")
        try:
            health = httpx.get(f"{self.url}/api/health", timeout=5, verify=TRUST)
        except httpx.TransportError:
            return False
        return health.status_code == httpx.codes.OK

    def __enter__(self) -> "Server":
        return self.start()

    def __exit__(self, *_: object) -> None:
        self.kill()
