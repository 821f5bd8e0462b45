"""A person at the office pages: signs in, follows links, sends forms with their tokens."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from html import unescape
from html.parser import HTMLParser
from typing import Any

import httpx

from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases.ports import Means
from tests.support.analyser import QuickAnalyser
from tests.support.net import PATIENCE_S, wait_until

TOKEN = re.compile(r'name="csrf" value="([0-9a-f]{64})"')


@dataclass
class Site:
    url: str
    database: Database
    means: Means
    analyser: QuickAnalyser

    @property
    def uow(self) -> SqlUnitOfWork:
        return SqlUnitOfWork(self.database)

    @contextmanager
    def visitor(self, badge: str = "") -> Iterator[Visitor]:
        """Someone with a browser of their own, signed in when a badge is given."""
        with httpx.Client(base_url=self.url, timeout=PATIENCE_S) as client:
            visitor = Visitor(client)
            if badge:
                answer = visitor.sign_in(badge)
                assert answer.status_code == httpx.codes.SEE_OTHER, answer.text
            yield visitor


class Visitor:
    def __init__(self, client: httpx.Client) -> None:
        self.client = client

    def sign_in(self, badge: str, password: str = "") -> httpx.Response:
        word = password or f"bench-{badge.lower().replace('-', '')}"
        return self.send("/sign-in", "/sign-in", badge=badge, password=word)

    def get(self, path: str) -> httpx.Response:
        return self.client.get(path)

    def token(self, path: str = "/plates") -> str:
        found = TOKEN.search(self.get(path).text)
        assert found, f"no form on {path}"
        return found.group(1)

    def send(self, path: str, page: str = "/plates", /, **fields: str) -> httpx.Response:
        """Post the fields with the token of `page`; the answer is not followed."""
        return self.client.post(path, data={"csrf": self.token(page), **fields})

    def send_file(self, path: str, content: bytes, **fields: str) -> httpx.Response:
        files = {"upload": ("design.toml", content, "application/octet-stream")}
        return self.client.post(path, data={"csrf": self.token(), **fields}, files=files)

    def read_once(self, path: str, link: str) -> Page:
        """The page, as soon as it has this link."""
        wait_until(lambda: link in self.read(path).links, within_s=30, what=f"{link} on {path}")
        return self.read(path)

    def read(self, path: str) -> Page:
        answer = self.get(path)
        assert answer.status_code == httpx.codes.OK, f"{path}: {answer.status_code}"
        return Page(answer.text)


class Page(HTMLParser):
    """The words of a page, its links, the cells of its tables, and what a strict policy forbids."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.html = html
        self.links: list[str] = []
        self.addresses: list[str] = []
        self.inline: list[str] = []
        self.rows: list[list[str]] = []
        self._text: list[str] = []
        self._cell: list[str] | None = None
        self.feed(html)

    @property
    def text(self) -> str:
        return re.sub(r"\s+", " ", unescape(" ".join(self._text)))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        named = dict(attrs)
        self.addresses += [named[key] or "" for key in ("href", "src", "action") if key in named]
        if tag == "a":
            self.links.append(named.get("href") or "")
        if tag == "style" or (tag == "script" and "src" not in named):
            self.inline.append(tag)
        self.inline += [name for name in named if name == "style" or name.startswith("on")]
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th") and self.rows:
            self._cell = []

    def handle_endtag(self, tag: str) -> None:
        if tag in ("td", "th") and self._cell is not None:
            self.rows[-1].append(re.sub(r"\s+", " ", " ".join(self._cell)).strip())
            self._cell = None

    def handle_data(self, data: str) -> None:
        self._text.append(data)
        if self._cell is not None:
            self._cell.append(data)


def count_rows(site: Site, table: str) -> int:
    with site.database.reader.connect() as connection:
        found: Any = connection.exec_driver_sql(f"SELECT count(*) FROM {table}").scalar_one()
    return int(found)
