"""A real server that speaks https under a made-up name, and clients that trust its authority or not."""

from __future__ import annotations

import ssl
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Self

import httpx

from tests.support.net import PATIENCE_S, free_port
from tests.support.server import Server

NAME = "clamp.test"


class TlsServer(Server):
    """`clampbook serve` with the shop's own authority, reached at 127.0.0.1 by any name one likes."""

    def __init__(
        self,
        data: Path,
        *,
        name: str = NAME,
        tls: str = "own",
        more: Mapping[str, str] | None = None,
    ) -> None:
        self.name = name
        self.welcome_port = free_port()
        environment = {
            "CLAMPBOOK_TLS": tls,
            "CLAMPBOOK_NAME": name,
            "CLAMPBOOK_WELCOME_PORT": str(self.welcome_port),
            **(more or {}),
        }
        super().__init__(data, environment=environment)

    def start(self) -> Self:
        super().start()
        return self

    def __enter__(self) -> Self:
        return self.start()

    @property
    def url(self) -> str:
        return f"https://{self.name}:{self.port}"

    @property
    def welcome(self) -> str:
        return f"http://127.0.0.1:{self.welcome_port}"

    @property
    def authority(self) -> Path:
        """The authority's certificate, as the welcome page gives it away."""
        path = self.data.with_name(f"{self.data.name}-authority.crt")
        if not path.exists():
            path.write_bytes(self.authority_in("crt"))
        return path

    def authority_in(self, form: str) -> bytes:
        return httpx.get(f"{self.welcome}/authority.{form}", timeout=PATIENCE_S).content

    def trusting(self) -> ssl.SSLContext:
        return ssl.create_default_context(cadata=self.authority.read_bytes())

    def ask(
        self, method: str, path: str, *, host: str | None = None, **more: Any
    ) -> httpx.Response:
        """A request to the shop as a device sends it that resolves `host` to this machine."""
        named = host or f"{self.name}:{self.port}"
        with httpx.Client(verify=self.trusting(), timeout=PATIENCE_S) as client:
            return client.request(
                method,
                f"https://127.0.0.1:{self.port}{path}",
                headers={"Host": named, **more.pop("headers", {})},
                extensions={"sni_hostname": self.name},
                **more,
            )

    def get(self, path: str, **more: Any) -> httpx.Response:
        return self.ask("GET", path, **more)

    def _healthy(self) -> bool:
        if self._process is None or self._process.poll() is not None:
            raise RuntimeError(f"The server ended before it was ready:\n{self.log.read_text()}")
        try:
            return httpx.get(
                f"https://127.0.0.1:{self.port}/api/health",
                headers={"Host": f"localhost:{self.port}"},
                verify=False,  # noqa: S501 - whether it is up, not who it is
                timeout=5,
            ).is_success
        except httpx.TransportError:
            return False
