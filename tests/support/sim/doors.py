"""The server's side of the wire: its use cases called directly, or a real process over HTTP."""

from __future__ import annotations

from typing import Any, Protocol

import httpx

from api.domain.errors import ClampbookError, NotAllowed
from api.routes.api import models
from api.routes.problems import STATUS
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases import records, shop, tablets
from api.use_cases.ports import Means
from tests.support.net import PATIENCE_S, TRUST
from tests.support.sim.tablet import Asked, SimTablet

Told = dict[str, Any] | None
BUILD = "test"


class Refused(Exception):
    """The server answered, but not with what was asked for."""

    def __init__(self, status: int, code: str | None) -> None:
        super().__init__(f"{status} {code}")
        self.status, self.code = status, code


class Door(Protocol):
    """Raises `Refused`, or `httpx.TransportError` when nobody is there."""

    def handle(self, tablet: SimTablet, asked: Asked) -> Told: ...

    def forget(self, tablet: SimTablet) -> None:
        """The tablet's session is gone."""
        ...


class CaseDoor:
    """Use cases in this process; `writer` may be another unit of work, such as one that fails."""

    def __init__(self, database: Database, means: Means) -> None:
        self.database, self.means = database, means
        self.writer: type[SqlUnitOfWork] = SqlUnitOfWork
        self._tokens: dict[str, str] = {}

    def handle(self, tablet: SimTablet, asked: Asked) -> Told:
        try:
            return getattr(self, f"_{asked['do']}")(tablet, asked)  # type: ignore[no-any-return]
        except ClampbookError as problem:
            status = next(status for kind, status in STATUS if isinstance(problem, kind))
            raise Refused(status, problem.code) from problem

    def forget(self, tablet: SimTablet) -> None:
        self._tokens.pop(tablet.name, None)

    def _session(self, tablet: SimTablet, _asked: Asked) -> Told:
        nonce = tablets.challenge(self.means, tablet.name)
        proof = tablet.prove(tablets.session_text(nonce, tablet.name))
        made = tablets.open_session(self._uow(), self.means, tablet.name, nonce, proof)
        self._tokens[tablet.name] = made.token
        return None

    def _push(self, tablet: SimTablet, asked: Asked) -> Told:
        self._known(tablet)
        texts, sigs = tablet.sent(asked["ns"])
        uow = self.writer(self.database)
        taken = records.accept_events(uow, self.means, tablet.name, BUILD, texts, sigs)
        return models.PushAnswer.model_validate(taken).model_dump(mode="json")

    def _pull(self, tablet: SimTablet, asked: Asked) -> Told:
        self._known(tablet, to_ask=True)
        pulled = records.pull(self._reader(), self.means, asked["after"])
        return models.PullAnswer.model_validate(pulled).model_dump(mode="json")

    def _shop(self, tablet: SimTablet, asked: Asked) -> Told:
        self._known(tablet, to_ask=True)
        if asked["etag"] == shop.shop_version(self._reader(), self.means):
            return None
        found = shop.shop_data(self._reader(), self.means)
        return {"version": found.version, "epoch": found.epoch, "start": found.start}

    def _known(self, tablet: SimTablet, *, to_ask: bool = False) -> None:
        found = tablets.who(self._reader(), self.means, self._tokens.get(tablet.name))
        if found is None:
            raise tablets.not_enrolled()
        if to_ask and found.revoked_at is not None:
            raise NotAllowed("revoked", code="tablet-revoked")

    def _uow(self) -> SqlUnitOfWork:
        return SqlUnitOfWork(self.database)

    def _reader(self) -> SqlUnitOfWork:
        return SqlUnitOfWork(self.database, read_only=True)


class HttpDoor:
    """A real server at an address; each tablet has a cookie jar of its own."""

    def __init__(self, url: str, timeout_s: float = PATIENCE_S) -> None:
        self.url, self._timeout_s = url, timeout_s
        self._clients: dict[str, httpx.Client] = {}

    def handle(self, tablet: SimTablet, asked: Asked) -> Told:
        return getattr(self, f"_{asked['do']}")(tablet, asked)  # type: ignore[no-any-return]

    def forget(self, tablet: SimTablet) -> None:
        self._client(tablet).cookies.clear()

    def close(self) -> None:
        for client in self._clients.values():
            client.close()
        self._clients.clear()

    def _session(self, tablet: SimTablet, _asked: Asked) -> Told:
        client, name = self._client(tablet), {"tablet": tablet.name}
        nonce = _body(client.post("/api/tablets/challenge", json=name))["nonce"]
        proof = tablet.prove(tablets.session_text(nonce, tablet.name))
        made = client.post("/api/tablets/session", json=name | {"nonce": nonce, "proof": proof})
        _checked(made)
        return None

    def _push(self, tablet: SimTablet, asked: Asked) -> Told:
        texts, sigs = tablet.sent(asked["ns"])
        known = tablet.memory["checkpoint"]
        same = known is not None and known["epoch"] == tablet.memory["epoch"]
        seen = {"seq": known["seq"], "chain": known["head"]} if same else None
        body = {"tablet": tablet.name, "build": BUILD, "events": texts, "sigs": sigs, "seen": seen}
        return _body(self._client(tablet).post("/api/sync/push", json=body))

    def _pull(self, tablet: SimTablet, asked: Asked) -> Told:
        return _body(self._client(tablet).get("/api/sync/pull", params={"after": asked["after"]}))

    def _shop(self, tablet: SimTablet, asked: Asked) -> Told:
        headers = {"If-None-Match": f'"{asked["etag"]}"'} if asked["etag"] else {}
        reply = self._client(tablet).get("/api/sync/shop", headers=headers)
        return None if reply.status_code == httpx.codes.NOT_MODIFIED else _body(reply)

    def _client(self, tablet: SimTablet) -> httpx.Client:
        if tablet.name not in self._clients:
            self._clients[tablet.name] = httpx.Client(
                base_url=self.url, timeout=self._timeout_s, verify=TRUST
            )
        return self._clients[tablet.name]


def _checked(reply: httpx.Response) -> None:
    if not reply.is_success:
        told = reply.json() if "json" in reply.headers.get("content-type", "") else {}
        raise Refused(reply.status_code, told.get("code"))


def _body(reply: httpx.Response) -> dict[str, Any]:
    _checked(reply)
    found: dict[str, Any] = reply.json()
    return found
