"""Requests handed straight to the application, as if they had come over https."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass, field
from typing import Any

import httpx
from fastapi import FastAPI

from tests.routes.office.visitor import TOKEN

ORIGIN = "https://shop.test"


def token_on(page: httpx.Response) -> str:
    found = TOKEN.search(page.text)
    assert found
    return found.group(1)


@dataclass
class Inside:
    """Keeps cookies as a browser does."""

    app: FastAPI
    raises: bool = True
    cookies: httpx.Cookies = field(default_factory=httpx.Cookies)

    def ask(self, method: str, path: str, **more: Any) -> httpx.Response:
        return asyncio.run(self._ask(method, path, **more))

    def get(self, path: str) -> httpx.Response:
        return self.ask("GET", path)

    def post(self, path: str, **fields: str) -> httpx.Response:
        return self.ask("POST", path, data=fields)

    async def _ask(self, method: str, path: str, **more: Any) -> httpx.Response:
        transport = httpx.ASGITransport(self.app, raise_app_exceptions=self.raises)
        async with httpx.AsyncClient(
            transport=transport, base_url=ORIGIN, cookies=self.cookies
        ) as client:
            answer = await client.request(method, path, **more)
            self.cookies = client.cookies
        return answer
